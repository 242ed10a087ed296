"""The tunes that are there for everybody whom a service knows: the files it was given, and the demo tunes.

Their plain solos are made once, however many studios there are. What studios bring and edit is in their repertoires.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence
from pathlib import Path

from coach.errors import CoachError, InputError
from coach.service import jobs
from coach.service.book import Book
from coach.service.workers import Workers

__all__ = ["CommonBook"]

_log = logging.getLogger(__name__)


class CommonBook:
    """The common tunes.

    Args:
        workers: read and arrange them.
        files: with tunes, that go first.
        failed: told when one of them cannot be read; then no more are.

    Attributes:
        book: has them.
        given: the ids of those of the files.
        given_read: set when all files have been read.
        is_whole: whether all tunes are there that will come.
    """

    def __init__(self, workers: Workers, files: Sequence[Path], failed: Callable[[CoachError], None]) -> None:
        self.book = Book(workers)
        self.given: list[str] = []
        self.given_read = asyncio.Event()
        self.is_whole = False
        self._workers = workers
        self._files = files
        self._failed = failed
        if not files:
            self.given_read.set()

    async def fill(self, grown: Callable[[], Awaitable[None]]) -> None:
        """Read all tunes, one file after the other.

        Args:
            grown: awaited after each file, and when the book is whole.
        """
        for path in self._files:
            try:
                data = await asyncio.to_thread(_read, path)
                lines, complaints = await self.book.add(data, path.name)
            except CoachError as error:
                self._failed(error)
                return
            self.given += [line.id for line in lines]
            await grown()
            for complaint in complaints:
                _log.warning("%s", complaint)
        self.given_read.set()
        for name, data in await self._workers.run(jobs.demo_files, 60.0, "finding the demo tunes"):
            await self._add_own(name, data)
            await grown()
        self.is_whole = True
        await grown()

    async def _add_own(self, name: str, data: bytes) -> None:
        """Add a tune of our own. On a machine that is busy the first try may take too long, since its worker begins
        with it; a tune that cannot be added all the same leaves the others."""
        for _ in range(2):
            try:
                await self.book.add(data, name)
            except CoachError as error:
                _log.warning("%s", error)
            else:
                return


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            f"the file cannot be opened ({error.strerror or error})", where=str(path), cure="check its name and place"
        ) from error
