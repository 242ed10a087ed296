"""Text on its way to a terminal or a file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console

__all__ = ["tidily"]

_BLANKS_AT_END = re.compile(r" +(?=(?:\x1b\[[\d;]*m)*$)", re.MULTILINE)


@contextmanager
def tidily(console: Console) -> Iterator[None]:
    """What is printed meanwhile goes out without the blanks that the library fills lines up with, and with a question
    mark for each letter that the terminal does not know."""
    with console.capture() as printed:
        yield
    text = _BLANKS_AT_END.sub("", printed.get())
    console.file.write(text.encode(console.encoding, errors="replace").decode(console.encoding))
