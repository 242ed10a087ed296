"""The repertoire of one studio, or of a player alone: its tune book and the desk of its edits.

It lies over the common tunes, which all repertoires share. What is brought or edited in one is not known in another,
also where the id of the tune is the same.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from coach.service.book import Book
from coach.service.common_book import CommonBook
from coach.service.edit_desk import EditDesk
from coach.service.edit_store import EditStore
from coach.service.protocol import TuneLine
from coach.service.workers import Workers
from coach.studio.people import Person, StudioName

__all__ = ["Begin", "Changed", "Repertoire"]

_ALL = ""

Begin = Callable[[Coroutine[Any, Any, None]], None]
"""Does something in the background."""


@dataclass(frozen=True, slots=True)
class Changed:
    """Who is told of changes.

    Attributes:
        tunes: the list of tunes is another one.
        edits: told the id of a tune whose edits are others.
    """

    tunes: Callable[[], None]
    edits: Callable[[str], None]


class Repertoire:
    """A repertoire.

    Args:
        studio: whose it is; without an id it is that of the player alone.
        folder: where it is kept.
        workers: read and arrange.
        common: the tunes that are there for everybody.
        begin: does something in the background.
        changed: who is told of changes.

    Attributes:
        studio: whose it is.
        book: its tunes.
        desk: their edits.
    """

    def __init__(
        self,
        studio: StudioName,
        folder: Path,
        *,
        workers: Workers,
        common: CommonBook,
        begin: Begin,
        changed: Changed,
    ) -> None:
        self.studio = studio
        self.book = Book(workers, common.book)
        self.desk = EditDesk(self.book, EditStore(folder / "edits"), begin, changed.edits)
        self.begin = begin
        self._common = common
        self._changed = changed
        self._met: set[str] = set()  # of the common tunes, those whose edits are known
        self._owners: dict[str, set[str]] = {}  # of its own tunes: ids of students, _ALL where everybody sees it
        self._meeting = asyncio.Lock()

    @property
    def given(self) -> list[str]:
        """The ids of the tunes that a session chooses from first: of the files that the player alone gave."""
        return [] if self.studio.id else [tune for tune in self._common.given if tune in self._met]

    @property
    def is_whole(self) -> bool:
        """Whether all tunes are there that come by themselves."""
        return self._common.is_whole and len(self._met) == len(self._common.book.lines())

    def lines_for(self, person: Person) -> list[TuneLine]:
        """The list of tunes as somebody sees it."""
        return [
            *(line for line in self._common.book.lines() if line.id in self._met),
            *(line for line in self.book.lines() if self._is_for(person, line.id)),
        ]

    def sees_tune(self, person: Person, tune: str) -> bool:
        """Whether somebody may see a tune."""
        return tune in self._met or self._is_for(person, tune)

    def sees(self, person: Person, digest: str) -> bool:
        """Whether somebody may see a solo, by its digest: its sheet, its ways, what it sounds."""
        piece = self.book.piece(digest)
        return piece is not None and self.sees_tune(person, piece.tune)

    async def look(self) -> None:
        """Look which common tunes have come, and tell of them."""
        async with self._meeting:
            new = [line.id for line in self._common.book.lines() if line.id not in self._met]
            await self.desk.meet([tune for tune in new if self.book.is_tune(tune)])
            self._met.update(new)
        self._changed.tunes()

    async def add_file(self, person: Person, data: bytes, name: str) -> tuple[list[TuneLine], tuple[str, ...]]:
        """Add the tunes of a file, and tell of them.

        Args:
            person: who brings it.
            data: at most 5 MB.
            name: of the file.

        Returns:
            the tunes that were read, and a sentence for each that could not be.

        Raises:
            InputError: when none could be read, or the book is full.
        """
        lines, complaints = await self.book.add(data, name, self.desk.meet)
        for line in lines:
            if self.book.has(line.id):
                self._owners.setdefault(line.id, set()).add(person.id if person.role == "student" else _ALL)
        self._changed.tunes()
        return lines, complaints

    def _is_for(self, person: Person, tune: str) -> bool:
        owners = self._owners.get(tune, set())
        return bool(owners) and (person.role == "teacher" or not owners.isdisjoint({_ALL, person.id}))

    async def close(self) -> None:
        """End what is being made."""
        await self.book.close()
