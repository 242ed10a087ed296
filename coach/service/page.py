"""The page's files: where they lie, and the digest by which a page knows that it is an old one."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

import coach

__all__ = ["page_digest", "page_folder"]


@lru_cache(maxsize=1)
def page_folder() -> Path:
    """The folder of the page: inside the package in a wheel, beside it in a checkout or an editable install."""
    package = Path(coach.__file__).parent
    inside = package / "web_client"
    return inside if inside.is_dir() else package.parent / "web_client"


def page_digest(folder: Path) -> str:
    """The first 16 hex digits of the SHA-256 over names and contents of all files of the page."""
    total = hashlib.sha256()
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        data = path.read_bytes()
        total.update(f"{path.relative_to(folder).as_posix()}\0{len(data)}\0".encode())
        total.update(data)
    return total.hexdigest()[:16]
