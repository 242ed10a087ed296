"""The tune book of a service: the demo tunes, the files it was given, and what pages upload; solos and papers of them.

Everything costly is made by a worker and kept while it is used.
"""

from __future__ import annotations

from collections.abc import Mapping

from coach.arranging.arrangement import Tier
from coach.errors import InputError
from coach.service.jobs import GivenTune, Paper, Solo, jam_of, mixed_of, read_file, solos_of, write_paper
from coach.service.pieces import Piece
from coach.service.protocol import TuneLine
from coach.service.shelf import Shelf
from coach.service.workers import Workers

__all__ = ["Book"]

MOST_TUNES = 500
LARGEST_FILE = 5_000_000

_READING = 20.0  # seconds a job may take
_ARRANGING = 60.0
_WRITING = 30.0


class Book:
    """The tunes of a service.

    Args:
        workers: do the work.
        room: the solos of how many tunes are kept, and how many mixed solos and jam runs.
    """

    def __init__(self, workers: Workers, room: int = 64) -> None:
        self._workers = workers
        self._tunes: dict[str, GivenTune] = {}
        self._solos: Shelf[str, dict[Tier, Solo]] = Shelf(room)
        self._pieces: Shelf[Piece, Solo] = Shelf(room)
        self._by_digest: Shelf[str, Piece] = Shelf(4096)
        self._papers: Shelf[tuple[str, Paper], bytes] = Shelf(128)

    def lines(self) -> list[TuneLine]:
        """The list of tunes, in the order in which they came."""
        return [_line(tune) for tune in self._tunes.values()]

    def line(self, tune: str) -> TuneLine | None:
        """A tune of the list, None when it is not there."""
        given = self._tunes.get(tune)
        return None if given is None else _line(given)

    async def add(self, data: bytes, name: str) -> tuple[list[TuneLine], tuple[str, ...]]:
        """Add the tunes of a file.

        Args:
            data: at most 5 MB.
            name: of the file.

        Returns:
            the tunes that were read, and a sentence for each that could not be.

        Raises:
            InputError: when none could be read, or the book is full.
        """
        if len(data) > LARGEST_FILE:
            raise InputError("the file is larger than 5 MB", where=name, cure="give a file with the tune alone")
        tunes, complaints = await self._workers.run(read_file, _READING, f"reading {name!r}", data, name)
        new = [tune for tune in tunes if tune.id not in self._tunes]
        if len(self._tunes) + len(new) > MOST_TUNES:
            raise InputError(
                f"the tune book has room for {MOST_TUNES} tunes", where=name, cure="begin the service anew to empty it"
            )
        self._tunes.update((tune.id, tune) for tune in new)
        return [_line(tune) for tune in tunes], complaints

    async def solos(self, tune: str) -> Mapping[Tier, Solo]:
        """The solos of a tune by tier; made by a worker when they are asked for first.

        Raises:
            CoachError: when there is no such tune, or no solo can be made of it.
        """
        given = self._given(tune)

        async def make() -> dict[Tier, Solo]:
            return await self._workers.run(solos_of, _ARRANGING, f"arranging {given.title!r}", given.source)

        solos = await self._solos.get_or_make(tune, make)
        for tier, solo in solos.items():
            self._by_digest.put(solo.digest, Piece(tune, tier))
        return solos

    async def made(self, piece: Piece) -> Solo:
        """A solo of the book: a tier's own, or made by a worker when it is asked for first.

        Raises:
            CoachError: when there is no such tune or tier, or it cannot be made.
        """
        if piece.is_plain:
            solos = await self.solos(piece.tune)
            if piece.tier not in solos:
                raise InputError(
                    f"there is no {piece.tier} solo", where=self._given(piece.tune).title, cure="choose another tier"
                )
            return solos[piece.tier]

        async def make() -> Solo:
            given = self._given(piece.tune)
            if piece.jam:
                solo = await self.made(piece.without_jam)
                return await self._workers.run(jam_of, _ARRANGING, f"arranging {given.title!r}", solo)
            what = f"mixing {given.title!r}"
            return await self._workers.run(mixed_of, _ARRANGING, what, given.source, piece.tier, piece.mix)

        solo = await self._pieces.get_or_make(piece, make)
        self._by_digest.put(solo.digest, piece)
        return solo

    async def solo(self, digest: str) -> Solo | None:
        """A solo that was made before, by its digest; None where it is not known.

        One that was not asked for so long that it was given up is made again: the same notes come of the same tune.

        Raises:
            CoachError: when it cannot be made again.
        """
        piece = self._by_digest.get(digest)
        return None if piece is None else await self.made(piece)

    async def paper(self, solo: Solo, paper: Paper) -> bytes:
        """A solo on paper, made by a worker when it is asked for first.

        Raises:
            CoachError: when it cannot be made.
        """

        async def make() -> bytes:
            what = f"writing {solo.arrangement.title!r}"
            return await self._workers.run(write_paper, _WRITING, what, solo.arrangement, paper)

        return await self._papers.get_or_make((solo.digest, paper), make)

    def _given(self, tune: str) -> GivenTune:
        given = self._tunes.get(tune)
        if given is None:
            raise InputError(f"there is no tune {tune!r} in this book", cure="choose one of the list")
        return given

    async def close(self) -> None:
        """End what is being made."""
        await self._pieces.close()
        await self._solos.close()
        await self._papers.close()


def _line(tune: GivenTune) -> TuneLine:
    return TuneLine(tune.id, tune.title, tune.key, tune.meter, tune.measures, tune.study)
