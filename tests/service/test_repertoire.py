"""Repertoires: what a studio brings, edits and keeps is its own; who sees what, and what a restart finds again."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Collection, Coroutine, Sequence
from pathlib import Path
from typing import Any, TypeVar, cast

import pytest

from coach.arranging.edits import Edits
from coach.arranging.lick_table import Row
from coach.errors import ArrangeError, CoachError, ForbiddenError, InputError, NotThereError
from coach.service import book as book_module
from coach.service import brought as brought_module
from coach.service import jobs
from coach.service import protocol as wire
from coach.service.common_book import CommonBook
from coach.service.jobs import Solo
from coach.service.pieces import Piece
from coach.service.players_book import PlayersBook
from coach.service.repertoire import Readers, Repertoire
from coach.service.workers import Workers
from coach.studio.people import ALONE, Person, StudioName

T = TypeVar("T")
GATE = b'X:1\nT:Gate\nM:4/4\nL:1/4\nK:G\n"G"GABc|dedB|"D7"AFAF|"G"G4|]\n'
STILE = GATE.replace(b"Gate", b"Stile")
TWO = GATE.replace(b"Gate", b"Barn") + b"\n" + GATE.replace(b"X:1", b"X:2").replace(b"Gate", b"Shed")
LICK = Row("smoke over the roof", "G", "T40,h42 I20 M10 T30", 1, "own", "tag")

NORTH, SOUTH = StudioName("north", "North"), StudioName("south", "South")
RUTH = Person("ruth", "Ruth", "teacher", NORTH)
ANN = Person("ann", "Ann", "student", NORTH)
BEN = Person("ben", "Ben", "student", NORTH)
OTTO = Person("otto", "Otto", "teacher", SOUTH)


class AtOnce:
    """Workers that do their work at once, and count it."""

    def __init__(self) -> None:
        self.done: list[str] = []

    async def run(self, job: Callable[..., T], deadline: float, what: str, /, *args: Any) -> T:
        self.done.append(job.__name__)
        return job(*args)


class House:
    """A service's common tunes and the repertoires over them.

    Attributes:
        playing: the tune that each person practises.
        said: what people were told.
        changed: what readers were told of.
    """

    def __init__(self, root: Path) -> None:
        self.root = root
        self.workers = AtOnce()
        self.common = CommonBook(cast("Workers", self.workers), (), lambda _: None)
        self.common.is_whole = True
        self.playing: dict[str, str] = {}
        self.said: list[tuple[set[str], str]] = []
        self.changed: list[str] = []
        self.tasks: list[asyncio.Task[None]] = []
        self._hours = 0

    def _begin(self, work: Coroutine[Any, Any, None]) -> None:
        self.tasks.append(asyncio.ensure_future(work))

    def _tell(self, people: Collection[str], sentence: str) -> None:
        self.said.append((set(people), sentence))

    def _time(self) -> str:
        self._hours += 1
        return f"2026-01-01T{self._hours:02}:00:00Z"

    async def of(self, studio: StudioName) -> Repertoire:
        repertoire = Repertoire(
            studio,
            self.root / "studios" / studio.id if studio.id else self.root,
            workers=cast("Workers", self.workers),
            common=self.common,
            begin=self._begin,
            readers=Readers(
                lambda: self.changed.append("tunes"),
                self.changed.append,
                lambda tune: self.changed.append(f"licks of {tune}"),
                lambda: frozenset(self.playing.values()),
                lambda tune: frozenset(person for person, played in self.playing.items() if played == tune),
                self._tell,
            ),
            time_of_day=self._time,
        )
        await repertoire.open()
        return repertoire

    async def settle(self) -> None:
        await asyncio.gather(*self.tasks)


@pytest.fixture
def house(tmp_path: Path) -> House:
    return House(tmp_path)


def titles(repertoire: Repertoire, person: Person) -> list[str]:
    return [line.title for line in repertoire.lines_for(person)]


async def bring(repertoire: Repertoire, person: Person, data: bytes = GATE, name: str = "gate.abc") -> str:
    return (await repertoire.add_file(person, data, name))[0][0].id


async def lock(house: House, repertoire: Repertoire, person: Person, tune: str) -> CoachError | None:
    """Lock the first measure of the beginner's solo by hand; returns what the page was told."""
    book, told = PlayersBook(repertoire, person), []
    piece = Piece(tune, "beginner").edited(repertoire.desk.edits_of(tune))
    solo = await repertoire.book.made(piece)
    pluck = solo.arrangement.measures[0].plucks[0]
    asked = wire.Edit(digest=solo.digest, measure=1, does="leave out", at=str(pluck.at), string=pluck.string)
    book.ask(asked, piece, solo, told.append)
    await house.settle()
    return told[0]


async def opened(house: House, *studios: StudioName) -> list[Repertoire]:
    return [await house.of(studio) for studio in studios]


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


# ---------------------------------------------------------------------------------------------- whose it is


async def test_a_teachers_tune_is_everybodys_and_a_students_theirs_and_their_teachers(house: House) -> None:
    north, south = await opened(house, NORTH, SOUTH)
    await bring(north, RUTH)
    stile = await bring(north, ANN, STILE, "stile.abc")

    assert titles(north, RUTH) == ["Gate", "Stile"]
    assert titles(north, ANN) == ["Gate", "Stile"]
    assert titles(north, BEN) == ["Gate"]
    assert titles(south, OTTO) == []
    assert [north.sees_tune(each, stile) for each in (RUTH, ANN, BEN)] == [True, True, False]
    assert set(north.whose(stile) or ()) == {"ann"}


async def test_a_solo_is_seen_by_those_who_see_its_tune(house: House) -> None:
    north, south = await opened(house, NORTH, SOUTH)
    stile = await bring(north, ANN, STILE, "stile.abc")
    digest = (await north.book.made(Piece(stile, "beginner"))).digest

    assert [north.sees(each, digest) for each in (RUTH, ANN, BEN)] == [True, True, False]
    assert not south.sees(OTTO, digest)
    assert not north.sees(RUTH, "0" * 64)


async def test_choosing_a_tune_that_one_may_not_see_is_as_if_it_were_not_there(house: House) -> None:
    (north,) = await opened(house, NORTH)
    stile = await bring(north, ANN, STILE, "stile.abc")
    told: list[Any] = []
    book = PlayersBook(north, BEN)
    for tune in (stile, "gone"):
        book.fetch(tune, "beginner", None, lambda solos, **_: told.append(solos))
        book.make(Piece(tune, "beginner", jam=True), told.append)
    await house.settle()
    assert [str(each).replace(stile, "gone") for each in told] == [
        "there is no tune 'gone' in this book; choose one of the list."
    ] * 4
    mine: list[Any] = []
    PlayersBook(north, ANN).make(Piece(stile, "beginner", jam=True), mine.append)
    await house.settle()
    assert isinstance(mine[0], Solo)


async def test_the_common_tunes_are_arranged_once_for_all_studios(house: House) -> None:
    (line,), _ = await house.common.book.add(GATE, "gate.abc")
    north, south = await opened(house, NORTH, SOUTH)
    one = await north.book.made(Piece(line.id, "advanced"))
    assert await south.book.made(Piece(line.id, "advanced")) is one
    assert house.workers.done.count("solo_of") == 1
    assert north.sees(ANN, one.digest)
    assert south.sees(OTTO, one.digest)
    assert north.whose(line.id) is None
    await bring(north, RUTH)
    assert titles(north, RUTH) == ["Gate"]


async def test_the_player_alone_has_the_given_tunes_first_and_keeps_none(house: House, tmp_path: Path) -> None:
    (line,), _ = await house.common.book.add(GATE, "gate.abc")
    house.common.given.append(line.id)
    alone, north = await opened(house, ALONE.studio, NORTH)
    await bring(alone, ALONE, STILE, "stile.abc")
    assert titles(alone, ALONE) == ["Gate", "Stile"]
    assert alone.given == [line.id]
    assert north.given == []
    assert names(tmp_path) == []


# ---------------------------------------------------------------------------------------------- edits


async def test_two_studios_edit_the_same_tune_and_neither_touches_the_others(house: House) -> None:
    (line,), _ = await house.common.book.add(GATE, "gate.abc")
    north, south = await opened(house, NORTH, SOUTH)
    plain = await south.book.made(Piece(line.id, "beginner"))

    assert await lock(house, north, RUTH, line.id) is None
    edits = north.desk.edits_of(line.id)
    assert edits is not None
    assert south.desk.edits_of(line.id) is None
    edited = await north.book.made(Piece(line.id, "beginner").edited(edits))
    assert edited.digest != plain.digest
    assert await south.book.made(Piece(line.id, "beginner")) is plain
    assert not south.sees(OTTO, edited.digest)
    assert north.sees(ANN, edited.digest)
    assert house.changed[-1] == line.id


async def test_edits_and_tunes_are_there_after_a_restart(house: House, tmp_path: Path) -> None:
    north, south = await opened(house, NORTH, SOUTH)
    gate, stile = await bring(north, RUTH), await bring(north, ANN, STILE, "../st\x00ile.abc")
    await bring(south, OTTO, STILE)
    assert await lock(house, north, RUTH, gate) is None

    again = House(tmp_path)
    north, south = await opened(again, NORTH, SOUTH)
    assert titles(north, RUTH) == ["Gate", "Stile"]
    assert titles(north, BEN) == ["Gate"]
    assert north.sees_tune(ANN, stile)
    assert titles(south, OTTO) == ["Stile"]
    assert north.is_whole
    kept = north.desk.edits_of(gate)
    assert kept is not None
    assert len(kept.edits) == 1
    assert south.desk.edits_of(gate) is None


async def test_students_see_edits_and_make_none(house: House) -> None:
    (north,) = await opened(house, NORTH)
    gate = await bring(north, RUTH)
    refused = await lock(house, north, ANN, gate)
    assert isinstance(refused, ForbiddenError)
    assert await lock(house, north, RUTH, gate) is None
    piece = Piece(gate, "beginner").edited(north.desk.edits_of(gate))
    solo = await north.book.made(piece)
    seen, made = PlayersBook(north, ANN).told(piece, solo), PlayersBook(north, RUTH).told(piece, solo)
    assert (seen.edited, seen.undo) == ([1], False)
    assert seen.why_not == "Solos are edited by the teachers of the studio: ask them for a change."
    assert (made.edited, made.undo, made.why_not) == ([1], True, "")


# ---------------------------------------------------------------------------------------------- withdrawn, shared


async def test_who_practises_a_tune_that_is_withdrawn_goes_on_and_is_told(house: House, tmp_path: Path) -> None:
    (north,) = await opened(house, NORTH)
    gate = await bring(north, RUTH)
    solo = await north.book.made(Piece(gate, "beginner"))
    house.playing["ann"] = gate

    await north.withdraw(RUTH, gate)

    assert house.said == [
        (
            {"ann"},
            "Ruth has withdrawn “Gate” from the tune book; you can go on with it until you choose another one.",
        )
    ]
    assert titles(north, ANN) == titles(north, RUTH) == []
    assert [north.sees_tune(each, gate) for each in (ANN, BEN, RUTH)] == [True, False, False]
    assert [north.sees(each, solo.digest) for each in (ANN, BEN, RUTH)] == [True, False, True]
    assert (await north.book.made(Piece(gate, "beginner", (2,)))).arrangement.measures
    assert names(tmp_path / "studios/north/tunes") == []

    house.playing["ann"] = "another"
    await bring(north, RUTH, STILE, "stile.abc")
    await north.withdraw(RUTH, await bring(north, RUTH, TWO, "two.abc"))
    assert not north.sees_tune(ANN, gate)
    with pytest.raises(InputError, match="there is no tune"):
        await north.book.made(Piece(gate, "intermediate"))


async def test_one_tune_of_a_file_is_withdrawn_and_the_other_stays(house: House, tmp_path: Path) -> None:
    (north,) = await opened(house, NORTH)
    await north.withdraw(RUTH, await bring(north, RUTH, TWO, "two.abc"))
    assert titles(north, RUTH) == ["Shed"]
    (again,) = await opened(House(tmp_path), NORTH)
    assert titles(again, RUTH) == ["Shed"]
    await bring(again, RUTH, TWO, "two.abc")
    assert titles(again, RUTH) == ["Shed", "Barn"]


async def test_who_may_withdraw_what(house: House) -> None:
    (line,), _ = await house.common.book.add(GATE, "gate.abc")
    (north,) = await opened(house, NORTH)
    stile = await bring(north, ANN, STILE, "stile.abc")
    barn = await bring(north, RUTH, TWO, "two.abc")
    for person, tune, kind in (
        (RUTH, line.id, InputError),
        (RUTH, "gone", NotThereError),
        (BEN, stile, NotThereError),
        (ANN, barn, InputError),
    ):
        with pytest.raises(kind):
            await north.withdraw(person, tune)
    await north.withdraw(ANN, stile)
    assert titles(north, RUTH) == ["Gate", "Barn", "Shed"]


async def test_a_tune_of_two_students_goes_with_the_second(house: House) -> None:
    (north,) = await opened(house, NORTH)
    stile = await bring(north, ANN, STILE, "stile.abc")
    await bring(north, BEN, STILE, "stile.abc")
    await north.withdraw(ANN, stile)
    assert [north.sees_tune(each, stile) for each in (ANN, BEN)] == [False, True]
    await north.withdraw(BEN, stile)
    assert titles(north, RUTH) == []


async def test_a_teacher_shares_one_tune_of_a_students_file(house: House, tmp_path: Path) -> None:
    (north,) = await opened(house, NORTH)
    barn = await bring(north, ANN, TWO, "two.abc")
    with pytest.raises(NotThereError):
        await north.share(RUTH, "gone")
    await north.share(RUTH, barn)
    await north.share(RUTH, barn)
    assert titles(north, BEN) == ["Barn"]
    (again,) = await opened(House(tmp_path), NORTH)
    assert titles(again, BEN) == ["Barn"]
    assert titles(again, ANN) == ["Barn", "Shed"]


async def test_a_student_who_is_forgotten_while_their_tunes_are_read_again_does_not_come_back(
    house: House, tmp_path: Path
) -> None:
    (north,) = await opened(house, NORTH)
    await bring(north, ANN, STILE, "stile.abc")
    await bring(north, RUTH)
    later = House(tmp_path)
    run = later.workers.run

    async def forgets(job: Any, deadline: float, what: str, /, *given: Any) -> Any:
        if given[1] == "stile.abc":
            (tmp_path / "studios/north/people/ann").rename(tmp_path / "gone")
        return await run(job, deadline, what, *given)

    later.workers.run = forgets  # type: ignore[method-assign, assignment]
    (again,) = await opened(later, NORTH)
    assert titles(again, RUTH) == ["Gate"]


async def test_a_student_who_is_forgotten_takes_their_tunes_along(house: House, tmp_path: Path) -> None:
    (north,) = await opened(house, NORTH)
    barn = await bring(north, ANN, TWO, "two.abc")
    await bring(north, ANN, STILE, "stile.abc")
    await bring(north, BEN, STILE, "stile.abc")
    await north.share(RUTH, barn)
    await north.forget("ann")
    assert titles(north, RUTH) == ["Barn", "Stile"]
    assert not (tmp_path / "studios/north/people/ann/tunes").exists()
    (again,) = await opened(House(tmp_path), NORTH)
    assert titles(again, RUTH) == ["Barn", "Stile"]


async def test_what_a_student_brings_while_they_are_forgotten_is_not_kept(house: House, tmp_path: Path) -> None:
    (north,) = await opened(house, NORTH)
    run = house.workers.run

    async def forgets(job: Any, deadline: float, what: str, /, *given: Any) -> Any:
        read = await run(job, deadline, what, *given)
        await north.forget("ann")
        return read

    house.workers.run = forgets  # type: ignore[method-assign, assignment]
    with pytest.raises(InputError, match="deleted"):
        await bring(north, ANN, STILE, "stile.abc")
    assert titles(north, RUTH) == []
    assert not (tmp_path / "studios/north/people/ann").exists()


# ---------------------------------------------------------------------------------------------- limits


async def test_a_full_book_says_who_makes_room_and_keeps_nothing(
    house: House, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(book_module, "MOST_TUNES", 2)
    await house.common.book.add(GATE, "gate.abc")
    north, alone = await opened(house, NORTH, ALONE.studio)
    stile = await bring(north, RUTH, STILE, "stile.abc")
    with pytest.raises(InputError, match="room for 2 tunes; have a teacher withdraw one that nobody plays"):
        await bring(north, RUTH, TWO, "two.abc")
    with pytest.raises(InputError, match="begin the service anew"):
        await bring(alone, ALONE, TWO, "two.abc")
    await north.withdraw(RUTH, stile)
    await bring(north, RUTH, STILE, "stile.abc")
    assert len(list((tmp_path / "studios/north/tunes").glob("*.json"))) == 1


async def test_a_student_leaves_room_for_others(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(brought_module, "MOST_OF_STUDENT", 2)
    (north,) = await opened(house, NORTH)
    await bring(north, ANN, STILE, "stile.abc")
    with pytest.raises(InputError, match="a student may bring 2 tunes; take out one"):
        await bring(north, ANN, TWO, "two.abc")
    await bring(north, ANN)
    await bring(north, ANN)  # it is theirs already
    await bring(north, RUTH, TWO, "two.abc")
    assert titles(north, RUTH) == ["Stile", "Gate", "Barn", "Shed"]


async def test_what_cannot_be_read_again_leaves_the_others(
    house: House, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (north,) = await opened(house, NORTH)
    await bring(north, RUTH)
    await bring(north, RUTH, STILE, "stile.abc")
    (path,) = (tmp_path / "studios/north/tunes").glob("*/gate.abc")
    path.write_bytes(b"no tune")
    (again,) = await opened(House(tmp_path), NORTH)
    assert titles(again, RUTH) == ["Stile"]
    assert "gate.abc" in caplog.text
    assert path.read_bytes() == b"no tune"


async def test_a_tune_that_cannot_be_kept_is_not_in_the_book(house: House, tmp_path: Path) -> None:
    (north,) = await opened(house, NORTH)
    (tmp_path / "studios/north").mkdir(parents=True)
    (tmp_path / "studios/north/tunes").write_bytes(b"")
    with pytest.raises(InputError, match="cannot be kept"):
        await bring(north, RUTH)
    assert titles(north, RUTH) == []


# ---------------------------------------------------------------------------------------------- licks


def licked(solo: Solo) -> Sequence[str]:
    return [pluck.role for _, pluck in solo.arrangement.plucks() if pluck.role == "lick"]


async def test_a_studio_makes_its_advanced_solos_with_its_own_licks(house: House, tmp_path: Path) -> None:
    (line,), _ = await house.common.book.add(GATE, "gate.abc")
    north, south = await opened(house, NORTH, SOUTH)
    before = await north.book.made(Piece(line.id, "advanced"))
    easy = await north.book.made(Piece(line.id, "intermediate"))
    house.playing.update(ann=line.id, ben="gone")
    name = await north.keep_lick(LICK)
    await house.settle()
    assert house.changed[-2:] == [f"licks of {line.id}", "licks of gone"]
    made = len(house.workers.done)

    after = await north.book.made(Piece(line.id, "advanced"))
    assert after.digest != before.digest
    assert len(house.workers.done) == made  # it was written before they were told
    assert LICK.name in (await north.book.paper(after, "explain.json")).decode()
    assert await north.book.made(Piece(line.id, "intermediate")) is easy
    assert (await south.book.made(Piece(line.id, "advanced"))) is before
    assert await north.book.solo(before.digest) == before
    assert north.sees(ANN, after.digest)
    assert not south.sees(OTTO, after.digest)
    assert len((await north.book.ways(after.digest, 4)).file) > 10

    again = House(tmp_path)
    await again.common.book.add(GATE, "gate.abc")
    (north,) = await opened(again, NORTH)
    assert north.licks.rows == (LICK,)
    assert (await north.book.made(Piece(line.id, "advanced"))).digest == after.digest
    await north.withdraw_lick(name)
    assert (await north.book.made(Piece(line.id, "advanced"))).digest == before.digest


async def test_licks_that_edits_do_not_fit_are_left_out(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    (north,) = await opened(house, NORTH)
    gate = await bring(north, RUTH)
    await north.keep_lick(LICK)
    made = jobs.solo_of
    edits = Edits(gate)

    def unfit(source: Any, tier: Any, edits: Any = None, licks: Any = ()) -> Solo:
        if licks and edits is not None:
            raise ArrangeError("the string sounds already")
        return made(source, tier, edits, licks)

    unfit.__name__ = "solo_of"
    monkeypatch.setattr(book_module, "solo_of", unfit)
    piece = Piece(gate, "advanced", edits=edits)
    assert (await north.book.made(piece)).digest == made(north.book.found(gate).source, "advanced").digest  # type: ignore[union-attr]


async def test_licks_are_refused_in_words(house: House, tmp_path: Path) -> None:
    north, alone = await opened(house, NORTH, ALONE.studio)
    await north.keep_lick(LICK)
    with pytest.raises(InputError, match="there is a lick of this name already"):
        await north.keep_lick(LICK)
    with pytest.raises(InputError, match="follow no named roll"):
        await north.keep_lick(LICK._replace(name="other", slots="T30 T30"))
    with pytest.raises(NotThereError):
        await north.withdraw_lick("gone")
    with pytest.raises(InputError, match="licks are kept in a studio"):
        await alone.keep_lick(LICK)
    assert north.licks.rows == (LICK,)


async def test_a_file_of_licks_that_cannot_be_read_is_left_alone(
    house: House, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "studios/north/licks.json"
    path.parent.mkdir(parents=True)
    path.write_bytes(b"{")
    (north,) = await opened(house, NORTH)
    assert "these are no licks" in caplog.text
    with pytest.raises(InputError, match="correct or move that file"):
        await north.keep_lick(LICK)
    assert path.read_bytes() == b"{"
