"""The repertoire of one studio, or of a player alone: its tune book and the desk of its edits.

It lies over the common tunes, which all repertoires share. What is brought or edited in one is not known in another,
also where the id of the tune is the same. What was brought to a studio, and edited there, is kept in its folder.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable, Collection, Coroutine
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from coach.arranging.lick_table import Row
from coach.errors import CoachError, InputError, NotThereError
from coach.service.book import Book, line_of
from coach.service.brought import ALL, Brought
from coach.service.common_book import CommonBook
from coach.service.edit_desk import EditDesk
from coach.service.edit_store import EditStore
from coach.service.lick_shelf import LickShelf
from coach.service.pieces import Piece
from coach.service.protocol import TuneLine
from coach.service.workers import Workers
from coach.studio.people import Person, StudioName

__all__ = ["Begin", "Readers", "Repertoire"]

Begin = Callable[[Coroutine[Any, Any, None]], None]
"""Does something in the background."""


@dataclass(frozen=True, slots=True)
class Readers:
    """Those who practise from a repertoire.

    Attributes:
        tunes_changed: tells them that the list of tunes is another one.
        edits_changed: tells them the id of a tune whose edits are others.
        licks_changed: tells those of a tune, by its id, that it is played with other licks now.
        in_use: gives the ids of all tunes that are practised.
        practising: gives the ids of the people who practise a tune.
        tell: tells people, by their ids, a sentence.
    """

    tunes_changed: Callable[[], None]
    edits_changed: Callable[[str], None]
    licks_changed: Callable[[str], None]
    in_use: Callable[[], frozenset[str]]
    practising: Callable[[str], frozenset[str]]
    tell: Callable[[Collection[str], str], None]


class Repertoire:
    """A repertoire.

    Args:
        studio: whose it is; without an id it is that of the player alone, who keeps no tunes.
        folder: where it is kept.
        workers: read and arrange.
        common: the tunes that are there for everybody.
        begin: does something in the background.
        readers: those who practise from it.
        time_of_day: RFC 3339 in UTC.

    Attributes:
        studio: whose it is.
        book: its tunes.
        desk: their edits.
        licks: the teachers' own.
        begin: does something in the background.
    """

    def __init__(
        self,
        studio: StudioName,
        folder: Path,
        *,
        workers: Workers,
        common: CommonBook,
        begin: Begin,
        readers: Readers,
        time_of_day: Callable[[], str],
    ) -> None:
        self.studio = studio
        full = "have a teacher withdraw one that nobody plays" if studio.id else "begin the service anew to empty it"
        self.book = Book(workers, common.book, when_full=full)
        self.desk = EditDesk(self.book, EditStore(folder / "edits"), begin, readers.edits_changed)
        self.licks = LickShelf(folder / "licks.json" if studio.id else None)
        self.begin = begin
        self._common = common
        self._readers = readers
        self._brought = Brought(self.book, folder if studio.id else None, self.desk.meet, time_of_day)
        self._met: set[str] = set()  # of the common tunes, those whose edits are known
        self._meeting = asyncio.Lock()
        self._going_on: dict[str, frozenset[str]] = {}  # with tunes that were withdrawn: who practises them still
        self._is_open = False

    @property
    def given(self) -> list[str]:
        """The ids of the tunes that a session chooses from first: of the files that the player alone gave."""
        return [] if self.studio.id else [tune for tune in self._common.given if tune in self._met]

    @property
    def is_whole(self) -> bool:
        """Whether all tunes are there that come by themselves."""
        return self._is_open and self._common.is_whole and len(self._met) == len(self._common.book.lines())

    def lines_for(self, person: Person) -> list[TuneLine]:
        """The list of tunes as somebody sees it."""
        return [
            *(line for line in self._common.book.lines() if line.id in self._met),
            *(line for line in self.book.lines() if line.id not in self._met and self._brought.is_for(person, line.id)),
        ]

    def whose(self, tune: str) -> Collection[str] | None:
        """Whose a tune is that was brought: the ids of students, an empty one where it is everybody's in the studio;
        None for one of the common tunes."""
        return None if tune in self._met else self._brought.owners(tune)

    def sees_tune(self, person: Person, tune: str) -> bool:
        """Whether somebody may choose a tune."""
        return tune in self._met or self._brought.is_for(person, tune) or person.id in self._going_on.get(tune, ())

    def sees(self, person: Person, digest: str) -> bool:
        """Whether somebody may see a solo, by its digest: its sheet, its ways, what it sounds."""
        piece = self.book.piece(digest)
        if piece is None:
            return False
        return self.sees_tune(person, piece.tune) or (person.role == "teacher" and piece.tune in self._going_on)

    async def open(self) -> None:
        """Take up the common tunes, and what was kept."""
        await self.licks.open()
        self._use_licks()
        await self.look()
        await self._brought.read_again(self._readers.tunes_changed)
        self._is_open = True
        self._readers.tunes_changed()

    async def look(self) -> None:
        """Look which common tunes have come, and tell of them."""
        async with self._meeting:
            new = [line.id for line in self._common.book.lines() if line.id not in self._met]
            await self.desk.meet([tune for tune in new if self.book.is_tune(tune)])
            self._met.update(new)
        self._readers.tunes_changed()

    async def add_file(self, person: Person, data: bytes, name: str) -> tuple[list[TuneLine], tuple[str, ...]]:
        """Add the tunes of a file, and tell of them.

        Args:
            person: who brings it.
            data: at most 5 MB.
            name: of the file.

        Returns:
            the tunes that were read, and a sentence for each that could not be.

        Raises:
            InputError: when none could be read, there is no room for them, or they cannot be kept.
        """
        lines, complaints = await self._brought.bring(person.id if person.role == "student" else ALL, data, name)
        for line in lines:
            if self.book.lists(line.id):
                self._going_on.pop(line.id, None)
        self._readers.tunes_changed()
        return lines, complaints

    async def withdraw(self, person: Person, tune: str) -> None:
        """Take a tune out of the book. Who practises it is told, and may go on until they choose another one.

        Args:
            person: a teacher, or a student whose tune it is.
            tune: its id.

        Raises:
            NotThereError: when they have no such tune.
            InputError: when it cannot be taken out.
        """
        owners = self._own(person, tune)
        if person.role == "student" and person.id not in owners:
            raise InputError("this tune is not yours", where=self._title(tune), cure="ask a teacher to withdraw it")
        title = self._title(tune)
        if await self._brought.take_out(tune, [person.id] if person.role == "student" else owners):
            self._unlist(tune, f"{person.name} has withdrawn “{title}” from the tune book")
        self._readers.tunes_changed()

    async def share(self, person: Person, tune: str) -> None:
        """Give a student's tune to all of the studio.

        Raises:
            NotThereError: when there is no such tune.
            InputError: when its file cannot be read or kept.
        """
        self._own(person, tune)
        await self._brought.share(tune)
        self._readers.tunes_changed()

    async def forget(self, person: str) -> None:
        """Take out what a student has brought, by their id; what a teacher has shared of it stays with the studio.

        Raises:
            InputError: when it cannot be taken out.
        """
        for tune in await self._brought.forget(person):
            self._unlist(tune, f"“{self._title(tune)}” went out of the tune book with the student who brought it")
        self._readers.tunes_changed()

    async def keep_lick(self, row: Row) -> str:
        """Keep a lick, with which the advanced solos are made from now on; returns its id.

        Raises:
            InputError: when it cannot be played, is there already, or cannot be kept.
        """
        found = await self.licks.add(row)
        self._use_licks()
        return found

    async def withdraw_lick(self, id: str) -> None:  # noqa: A002 - it is called so
        """Take a lick out; solos are made without it from now on.

        Raises:
            NotThereError: when there is none of this id.
            InputError: when that cannot be kept.
        """
        await self.licks.withdraw(id)
        self._use_licks()

    async def close(self) -> None:
        """End what is being made."""
        await self.book.close()

    def _use_licks(self) -> None:
        if self.book.licks != self.licks.rows:
            self.book.licks = self.licks.rows
            self.begin(self._write_anew(self.licks.rows))

    async def _write_anew(self, licks: tuple[Row, ...]) -> None:
        """Have what is practised written with other licks: one tune after the other, so that no worker is kept from
        what somebody waits for."""
        for tune in sorted(self._readers.in_use()):
            if self.book.licks is not licks:
                return  # they have changed again
            with contextlib.suppress(CoachError):  # who practises it is told the reason
                await self.book.made(Piece(tune, "advanced").edited(self.desk.edits_of(tune)))
            self._readers.licks_changed(tune)

    def _own(self, person: Person, tune: str) -> Collection[str]:
        """Whose a tune is that somebody sees."""
        if tune in self._met:
            raise InputError(
                "this tune is there for everybody", where=self._title(tune), cure="choose one that was brought"
            )
        if not self._brought.is_for(person, tune):
            raise NotThereError("there is no such tune in your tune book", cure="choose one of the list")
        return self._brought.owners(tune)

    def _title(self, tune: str) -> str:
        found = self.book.found(tune)
        return "" if found is None else line_of(found).title

    def _unlist(self, tune: str, sentence: str) -> None:
        """A tune is nobody's any more. It is given up when nobody practises it."""
        self.book.unlist(tune)
        self._going_on[tune] = practising = self._readers.practising(tune)
        self._readers.tell(practising, f"{sentence}; you can go on with it until you choose another one.")
        for each in tuple(self._going_on):
            if not self._readers.practising(each):
                self.book.drop(each)
                del self._going_on[each]
