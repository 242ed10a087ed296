"""The tunes that were brought to a repertoire: whose each of them is, and the files in which they are kept.

What a teacher brings is everybody's in the studio, what a student brings is theirs, and their teachers see it. A tune
that several have brought is there until the last of them has taken it out.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Collection, Iterable, Sequence
from pathlib import Path

from coach.errors import CoachError, InputError
from coach.service.book import Book, line_of
from coach.service.jobs import GivenTune
from coach.service.protocol import TuneLine
from coach.service.tune_store import BroughtFile, TuneStore
from coach.studio.people import Person
from coach.tunes.tune import Tune

__all__ = ["ALL", "Brought"]

ALL = ""
"""The owner of what is everybody's."""

MOST_OF_STUDENT = 50
"""Tunes that a student may have brought, so that there is room for those of others."""

_log = logging.getLogger(__name__)


class Brought:
    """The tunes of a repertoire that are its own.

    Args:
        book: where they are put.
        folder: where they are kept; None where they are not.
        met: awaited with the ids of tunes that can be edited, before they are in the list.
        time_of_day: RFC 3339 in UTC.
    """

    def __init__(
        self,
        book: Book,
        folder: Path | None,
        met: Callable[[Sequence[str]], Awaitable[None]],
        time_of_day: Callable[[], str],
    ) -> None:
        self._book = book
        self._folder = folder
        self._met = met
        self._time_of_day = time_of_day
        self._owners: dict[str, dict[str, str]] = {}  # of each tune: the key of its file by owner
        self._ids: dict[str, tuple[str, ...]] = {}  # of each file: of all tunes in it
        self._forgotten: set[str] = set()  # of whom nothing comes any more
        self._changing = asyncio.Lock()

    def owners(self, tune: str) -> Collection[str]:
        """Whose a tune is: the ids of students, :data:`ALL` where it is everybody's."""
        return self._owners.get(tune, {}).keys()

    def is_for(self, person: Person, tune: str) -> bool:
        """Whether somebody may see a tune."""
        owners = self._owners.get(tune)
        return owners is not None and (person.role == "teacher" or ALL in owners or person.id in owners)

    async def bring(self, owner: str, data: bytes, name: str) -> tuple[list[TuneLine], tuple[str, ...]]:
        """Take the tunes of a file, and keep it; arguments, what is returned and errors are those of
        :meth:`coach.service.book.Book.add`.

        Raises:
            InputError: also when the file cannot be kept, or its owner was deleted meanwhile.
        """
        tunes, complaints = await self._book.read(data, name)
        async with self._changing:
            if owner in self._forgotten:
                raise InputError("who brings this was deleted", where=name, cure="ask your teacher to let you in again")
            await self._take(owner, tunes, name, data)
        return [line_of(tune) for tune in tunes], complaints

    async def read_again(self, told: Callable[[], None]) -> None:
        """Read what was kept. What cannot be read is left alone, and the log says so.

        Args:
            told: called when the list has grown; the more there is, the more seldom.
        """
        if self._folder is None:
            return
        count = 0
        for owner, store, file in await asyncio.to_thread(self._kept):
            for attempt in (1, 2):  # on a busy machine the first may take too long, since its worker begins with it
                try:
                    await self._read_file(owner, store, file)
                except CoachError as error:
                    if attempt > 1 or isinstance(error, InputError):
                        _log.warning("%s", error)
                        break
                else:
                    count += 1
                    break
            if count & (count - 1) == 0:
                told()

    async def take_out(self, tune: str, owners: Iterable[str]) -> bool:
        """Take a tune out for some of its owners; returns whether nobody is left whose it is.

        Raises:
            InputError: when the folder cannot be written.
        """
        async with self._changing:
            for owner in tuple(owners):
                await self._give_up(tune, owner)
            return self._is_nobodys(tune)

    async def share(self, tune: str) -> None:
        """Make a student's tune everybody's too.

        Raises:
            InputError: when its file cannot be read or kept.
        """
        async with self._changing:
            owners = self._owners[tune]
            if ALL in owners or self._folder is None:
                return
            owner, key = next(iter(owners.items()))
            file, data = await asyncio.to_thread(self._store(owner).read, key)
            others = {each for each in self._ids[key] if ALL not in self._owners.get(each, {})} - {tune}
            await asyncio.to_thread(self._store(ALL).keep, data, file.file, self._time_of_day(), others)
            owners[ALL] = key

    async def forget(self, person: str) -> list[str]:
        """Take out all that somebody has brought who is a student; returns the ids of tunes that are nobody's then.

        Raises:
            InputError: when their folder cannot be taken out.
        """
        async with self._changing:
            self._forgotten.add(person)
            if self._folder is not None:
                await asyncio.to_thread(self._store(person).clear)
            tunes = [tune for tune, owners in self._owners.items() if person in owners]
            for tune in tunes:
                del self._owners[tune][person]
            return [tune for tune in tunes if self._is_nobodys(tune)]

    # The parts

    async def _take(self, owner: str, tunes: Sequence[GivenTune], name: str, data: bytes) -> None:
        new = self._book.new(tunes)
        fresh = {tune.id for tune in new}
        own = [
            tune.id
            for tune in tunes
            if tune.id in fresh or (self._book.has(tune.id) and ALL not in self.owners(tune.id))
        ]
        there = sum(owner in owners for owners in self._owners.values())
        if owner != ALL and there + sum(owner not in self.owners(tune) for tune in own) > MOST_OF_STUDENT:
            raise InputError(
                f"a student may bring {MOST_OF_STUDENT} tunes", where=name, cure="take out one that you do not play"
            )
        self._book.make_room(new, name)
        key = ""
        if self._folder is not None and own:
            others = {tune.id for tune in tunes} - set(own)
            key = await asyncio.to_thread(self._store(owner).keep, data, name, self._time_of_day(), others)
        await self._put(owner, tunes, own, name, key)

    async def _read_file(self, owner: str, store: TuneStore, file: BroughtFile) -> None:
        _, data = await asyncio.to_thread(store.read, file.key)
        tunes, _ = await self._book.read(data, file.file)
        async with self._changing:
            if not await asyncio.to_thread(store.has, file.key):
                return  # it was taken out meanwhile
            own = [tune.id for tune in tunes if tune.id not in file.left_out]
            await self._put(owner, tunes, own, file.file, file.key)

    async def _put(self, owner: str, tunes: Sequence[GivenTune], own: Sequence[str], name: str, key: str) -> None:
        """Put those tunes of a file into the book that somebody brings."""
        self._ids[key] = tuple(tune.id for tune in tunes)
        new = [tune for tune in self._book.new(tunes) if tune.id in own]
        await self._met([tune.id for tune in new if isinstance(tune.source, Tune)])
        self._book.put(new, name)
        for tune in own:
            if self._book.has(tune):
                self._owners.setdefault(tune, {})[owner] = key

    async def _give_up(self, tune: str, owner: str) -> None:
        key = self._owners[tune][owner]
        if self._folder is not None:
            store, every = self._store(owner), self._ids[key]
            await asyncio.to_thread(lambda: store.leave_out(key, {tune}, every=every))
        del self._owners[tune][owner]

    def _is_nobodys(self, tune: str) -> bool:
        if self._owners[tune]:
            return False
        del self._owners[tune]
        return True

    def _store(self, owner: str) -> TuneStore:
        assert self._folder is not None
        return TuneStore(self._folder / "tunes" if owner == ALL else self._folder / "people" / owner / "tunes")

    def _kept(self) -> list[tuple[str, TuneStore, BroughtFile]]:
        """What is kept, those of everybody first."""
        assert self._folder is not None
        people = sorted(path.name for path in (self._folder / "people").glob("*") if (path / "tunes").is_dir())
        found: list[tuple[str, TuneStore, BroughtFile]] = []
        for owner in (ALL, *people):
            store = self._store(owner)
            for file in store.files():
                if isinstance(file, InputError):
                    _log.warning("%s", file)
                else:
                    found.append((owner, store, file))
        return found
