"""Files of the command line: read whole, written whole or not at all, and every trouble said in a sentence."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from coach.errors import InputError

__all__ = ["read_file", "write_whole"]


def read_file(path: Path) -> bytes:
    """The bytes of a file.

    Raises:
        InputError: when it cannot be opened.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            f"the file cannot be opened ({error.strerror or error})", where=str(path), cure="check its name and place"
        ) from error


def write_whole(files: dict[Path, bytes]) -> None:
    """Write files whole or not at all.

    Raises:
        InputError: when one cannot be written; nothing is left half done.
    """
    drafts: list[tuple[Path, Path]] = []
    at_fault = next(iter(files), Path())
    try:
        for path, data in files.items():
            at_fault = path
            if path.is_dir():
                # Seen before the first file is in place: what lies there would stop the last step half-way.
                raise IsADirectoryError(None, "a folder has this name")
            with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as draft:
                drafts.append((Path(draft.name), path))
                draft.write(data)
        umask = os.umask(0)
        os.umask(umask)
        for draft_path, path in drafts:
            at_fault = path
            draft_path.chmod(0o666 & ~umask)
            draft_path.replace(path)
    except OSError as error:
        raise InputError(
            f"the file cannot be written ({error.strerror or error})", where=str(at_fault), cure="check the folder"
        ) from error
    finally:
        for draft_path, _ in drafts:
            draft_path.unlink(missing_ok=True)
