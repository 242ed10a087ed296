"""Files of the data folder that are written whole or not at all."""

from __future__ import annotations

import contextlib
from pathlib import Path

__all__ = ["write_whole"]


def write_whole(path: Path, data: bytes) -> None:
    """Write a file, and the folders above it that are not there; while it is written, what was there before is.

    Raises:
        OSError: when it cannot be written; then the file is as before, and nothing lies beside it.
    """
    beside = path.with_name(f".{path.name}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_bytes(data)
        beside.replace(path)
    except OSError:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise
