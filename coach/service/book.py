"""A tune book: the tunes of files, solos and papers of them.

Everything costly is made by a worker and kept while it is used. A book may lie over another one: it has all tunes of
that one too, and of those the other makes what is made without edits.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterable, Sequence
from dataclasses import replace

from coach.arranging.arrangement import Tier
from coach.arranging.lick_table import Row
from coach.errors import ArrangeError, InputError
from coach.service.jobs import (
    GivenTune,
    Paper,
    Solo,
    Ways,
    jam_of,
    mixed_of,
    read_file,
    solo_of,
    tiers_of,
    ways_of,
    write_paper,
)
from coach.service.pieces import Piece
from coach.service.protocol import TuneLine
from coach.service.shelf import Shelf
from coach.service.workers import Workers
from coach.tunes.tune import Tune

__all__ = ["Book", "line_of"]

MOST_TUNES = 500
LARGEST_FILE = 5_000_000

_READING = 20.0  # seconds a job may take
_ARRANGING = 60.0
_WRITING = 30.0


class Book:
    """A book of tunes.

    Args:
        workers: do the work.
        under: the book that it lies over; None for none.
        room: how many solos are kept.
        when_full: what to do when there is no room for a tune.

    Attributes:
        licks: a teacher's own, with which solos are made from now on.
    """

    def __init__(
        self,
        workers: Workers,
        under: Book | None = None,
        room: int = 256,
        when_full: str = "begin the service anew to empty it",
    ) -> None:
        self.licks: tuple[Row, ...] = ()
        self._workers = workers
        self._under = under
        self._when_full = when_full
        self._tunes: dict[str, GivenTune] = {}
        self._unlisted: dict[str, GivenTune] = {}
        self._pieces: Shelf[Piece, Solo] = Shelf(room)
        self._by_digest: Shelf[str, Piece] = Shelf(4096)
        self._papers: Shelf[tuple[str, Paper], bytes] = Shelf(128)
        self._ways: Shelf[tuple[str, int], Ways] = Shelf(256)

    def lines(self) -> list[TuneLine]:
        """The list of its own tunes, in the order in which they came."""
        return [line_of(tune) for tune in self._tunes.values()]

    def has(self, tune: str) -> bool:
        """Whether a tune is one of its own, by its id."""
        return tune in self._tunes

    def lists(self, tune: str) -> bool:
        """Whether a tune is in the list of this book or the one under it."""
        return self.has(tune) or (self._under is not None and self._under.lists(tune))

    def found(self, tune: str) -> GivenTune | None:
        """A tune of this book or the one under it, by its id; None where there is none."""
        found = self._tunes.get(tune) or self._unlisted.get(tune)
        return found if found is not None or self._under is None else self._under.found(tune)

    def is_tune(self, tune: str) -> bool:
        """Whether there is a tune of this id that solos are made of: no solo that came as such."""
        given = self.found(tune)
        return given is not None and isinstance(given.source, Tune)

    def piece(self, digest: str) -> Piece | None:
        """Which solo a digest names that was made before; None where it is not known."""
        found = self._by_digest.get(digest)
        return found if found is not None or self._under is None else self._under.piece(digest)

    async def add(
        self, data: bytes, name: str, met: Callable[[Sequence[str]], Awaitable[None]] | None = None
    ) -> tuple[list[TuneLine], tuple[str, ...]]:
        """Add the tunes of a file.

        Args:
            data: at most 5 MB.
            name: of the file.
            met: awaited with the ids of those that are new and can be edited, before they are in the list.

        Returns:
            the tunes that were read, also those that were there, and a sentence for each that could not be.

        Raises:
            InputError: when none could be read, or the book is full.
        """
        tunes, complaints = await self.read(data, name)
        if met is not None:
            await met([tune.id for tune in self.new(tunes) if isinstance(tune.source, Tune)])
        self.put(tunes, name)
        return [line_of(tune) for tune in tunes], complaints

    async def read(self, data: bytes, name: str) -> tuple[tuple[GivenTune, ...], tuple[str, ...]]:
        """Read the tunes of a file; arguments, what is returned and errors are those of :meth:`add`."""
        if len(data) > LARGEST_FILE:
            raise InputError("the file is larger than 5 MB", where=name, cure="give a file with the tune alone")
        return await self._workers.run(read_file, _READING, f"reading {name!r}", data, name)

    def new(self, tunes: Iterable[GivenTune]) -> list[GivenTune]:
        """Those tunes that are not in the list."""
        return [tune for tune in tunes if not self.lists(tune.id)]

    def put(self, tunes: Iterable[GivenTune], name: str) -> None:
        """Put tunes into the list that are not in it.

        Args:
            tunes: as they were read.
            name: of their file.

        Raises:
            InputError: when there is no room for them.
        """
        new = self.new(tunes)
        self.make_room(new, name)
        for tune in new:
            self._unlisted.pop(tune.id, None)
            self._tunes[tune.id] = tune

    def make_room(self, new: Sequence[GivenTune], name: str) -> None:
        """See to it that there is room for tunes that are not in the list; arguments and errors are those of
        :meth:`put`."""
        if self._count + len(new) > MOST_TUNES:
            raise InputError(f"the tune book has room for {MOST_TUNES} tunes", where=name, cure=self._when_full)

    def unlist(self, tune: str) -> None:
        """Take a tune out of the list; its solos are made as before until it is dropped."""
        self._unlisted[tune] = self._tunes.pop(tune)

    def drop(self, tune: str) -> None:
        """Give up a tune that is not in the list any more."""
        del self._unlisted[tune]

    def tiers(self, tune: str) -> tuple[Tier, ...]:
        """The tiers of the solos of a tune, the easiest first.

        Raises:
            InputError: when there is no such tune.
        """
        return tiers_of(self._given(tune).source)

    def why_not(self, piece: Piece) -> str:
        """Why a solo cannot be edited, in a sentence; empty where it can."""
        given = self.found(piece.tune)
        if given is None:
            return ""
        if given.study:
            return "A roll study is not edited: it goes over its roll as it is."
        if isinstance(given.source, Solo):
            return "This solo came as it is, without its tune: edit it where it was made, or bring the tune."
        if piece.jam:
            return "What goes in a jam is made of the solo: leave the jam to edit that."
        return ""

    async def made(self, piece: Piece) -> Solo:
        """A solo of the book, made by a worker when it is asked for first.

        An advanced one is made with the book's licks. Where edits do not fit what comes of that, it is made without.

        Raises:
            CoachError: when there is no such tune or tier, or it cannot be made.
        """
        licks = self.licks if "advanced" in piece.tiers and self.is_tune(piece.tune) else ()
        try:
            return await self._made(replace(piece, licks=licks))
        except ArrangeError:
            if not licks or piece.edits is None:
                raise
            return await self._made(piece)

    async def _made(self, piece: Piece) -> Solo:
        given = self._given(piece.tune)
        if self._under is not None and self._under.has(piece.tune) and piece.edits is None and not piece.licks:
            return await self._under.made(piece)
        if piece.is_plain and piece.tier not in tiers_of(given.source):
            raise InputError(f"there is no {piece.tier} solo", where=given.title, cure="choose another tier")

        async def make() -> Solo:
            what, source, edits, licks = f"arranging {given.title!r}", given.source, piece.edits, piece.licks
            if piece.jam:
                solo = await self._made(piece.without_jam)
                return await self._workers.run(jam_of, _ARRANGING, what, solo)
            if piece.mix:
                return await self._workers.run(mixed_of, _ARRANGING, what, source, piece.tier, piece.mix, edits, licks)
            if isinstance(source, Solo):
                return source
            return await self._workers.run(solo_of, _ARRANGING, what, source, piece.tier, edits, licks)

        solo = await self._pieces.get_or_make(piece, make)
        # Of those with the same notes the first is remembered, so that the ways through them are always the same.
        if self._by_digest.get(solo.digest) is None and (piece.licks or self.piece(solo.digest) is None):
            self._by_digest.put(solo.digest, piece)
        return solo

    async def solo(self, digest: str) -> Solo | None:
        """A solo that was made before, by its digest; None where it is not known.

        One that was not asked for so long that it was given up is made again: the same notes come of the same tune.

        Raises:
            CoachError: when it cannot be made again.
        """
        piece = self.piece(digest)
        return None if piece is None else await self._made(piece)

    async def paper(self, solo: Solo, paper: Paper) -> bytes:
        """A solo on paper, made by a worker when it is asked for first.

        Raises:
            CoachError: when it cannot be made.
        """
        piece = self.piece(solo.digest)
        licks = () if piece is None else piece.licks
        if self._under is not None and not licks and self._under.piece(solo.digest) is not None:
            return await self._under.paper(solo, paper)

        async def make() -> bytes:
            what = f"writing {solo.arrangement.title!r}"
            return await self._workers.run(write_paper, _WRITING, what, solo.arrangement, paper, licks)

        return await self._papers.get_or_make((solo.digest, paper), make)

    async def ways(self, digest: str, number: int) -> Ways:
        """The other ways through a measure of a solo that was made before; found by a worker when asked for first.

        Args:
            digest: of the solo.
            number: of the measure, as played.

        Raises:
            CoachError: when the solo is not known or cannot be edited, or it has no such measure.
        """
        piece = self.piece(digest)
        if piece is None:
            raise InputError("this solo is not known any more", cure="load the page anew")
        source = self._given(piece.tune).source
        if (why_not := self.why_not(piece)) or isinstance(source, Solo):
            raise InputError(why_not.removesuffix("."))

        async def find() -> Ways:
            solo = await self._made(piece)
            what = f"finding ways through measure {number}"
            edits, licks = piece.edits, piece.licks
            return await self._workers.run(ways_of, _WRITING, what, source, solo.arrangement, number, edits, licks)

        return await self._ways.get_or_make((digest, number), find)

    @property
    def _count(self) -> int:
        return len(self._tunes) + (0 if self._under is None else len(self._under.lines()))

    def _given(self, tune: str) -> GivenTune:
        given = self.found(tune)
        if given is None:
            raise InputError(f"there is no tune {tune!r} in this book", cure="choose one of the list")
        return given

    async def close(self) -> None:
        """End what is being made."""
        await self._pieces.close()
        await self._papers.close()
        await self._ways.close()


def line_of(tune: GivenTune) -> TuneLine:
    """A tune as it is listed."""
    return TuneLine(tune.id, tune.title, tune.key, tune.meter, tune.measures, tune.study)
