"""The tune book: its solos by name and by digest, made when they are asked for and found again."""

import asyncio
import json
from collections.abc import Callable, Sequence
from typing import Any, TypeVar, cast

import pytest

from coach.arranging.arrange import arrange
from coach.arranging.edits import Edits, Lock, lock
from coach.arranging.files import to_json
from coach.errors import CoachError, InputError
from coach.service import book as book_module
from coach.service.book import Book
from coach.service.jobs import demo_files
from coach.service.pieces import Piece
from coach.service.workers import Workers
from coach.tunes.tune import Tune

T = TypeVar("T")
GATE = b'X:1\nT:Gate\nM:4/4\nL:1/4\nK:G\n"G"GABc|dedB|"D7"AFAF|"G"G4|]\n'


class AtOnce:
    """Workers that do their work at once, and tell what they did."""

    def __init__(self) -> None:
        self.done: list[str] = []
        self.given: tuple[Any, ...] = ()

    async def run(self, job: Callable[..., T], deadline: float, what: str, /, *args: Any) -> T:
        self.done.append(job.__name__)
        self.given = args
        return job(*args)


@pytest.fixture
def workers() -> AtOnce:
    return AtOnce()


@pytest.fixture
def book(workers: AtOnce) -> Book:
    return Book(cast("Workers", workers))


async def gate(book: Book) -> str:
    return (await book.add(GATE, "gate.abc"))[0][0].id


async def test_studies_are_told_from_tunes(book: Book) -> None:
    await gate(book)
    for name, data in demo_files()[-1:]:
        await book.add(data, name)

    assert [(line.title, line.study) for line in book.lines()] == [("Gate", False), ("Forward-reverse roll", True)]


async def test_every_kind_of_solo_is_made_once_and_found_by_its_digest(book: Book, workers: AtOnce) -> None:
    tune = await gate(book)
    plain = Piece(tune, "beginner")
    pieces = [
        plain,
        Piece(tune, "beginner", (2,)),
        Piece(tune, "beginner", jam=True),
        Piece(tune, "beginner", (2,), True),
    ]
    made = [await book.made(piece) for piece in pieces]

    assert len({solo.digest for solo in made}) == 4
    assert [await book.solo(solo.digest) for solo in made] == made
    assert [await book.made(piece) for piece in pieces] == made
    assert workers.done == ["read_file", "solo_of", "mixed_of", "jam_of", "jam_of"]
    assert made[3].arrangement.measures[2].tier == "intermediate"
    assert len(await book.paper(made[3], "txt")) > 300


async def test_a_solo_that_was_given_up_is_made_again_for_its_digest(workers: AtOnce) -> None:
    book = Book(cast("Workers", workers), room=1)
    tune = await gate(book)
    own = await book.made(Piece(tune, "advanced"))
    mixed = await book.made(Piece(tune, "beginner", (2,)))
    await book.made(Piece(tune, "beginner", (3,)))
    (other,), _ = await book.add(GATE.replace(b"Gate", b"Stile"), "stile.abc")
    await book.made(Piece(other.id))
    workers.done.clear()

    assert await book.solo(mixed.digest) == mixed
    assert await book.solo(own.digest) == own
    assert workers.done == ["mixed_of", "solo_of"]


async def test_a_solo_is_made_with_its_own_tiers_edits(book: Book, workers: AtOnce) -> None:
    tune = await gate(book)
    plain = await book.made(Piece(tune, "advanced"))
    edits = Edits(tune, (Lock("beginner", 2, ()),))
    silent = Piece(tune, "beginner").edited(edits)

    assert not (await book.made(silent)).arrangement.measures[1].plucks
    assert Piece(tune, "advanced").edited(edits) == Piece(tune, "advanced")
    mixed = await book.made(Piece(tune, "beginner", (3,)).edited(edits))
    assert [bool(measure.plucks) for measure in mixed.arrangement.measures] == [True, False, True, True]
    jam = await book.made(Piece(tune, "beginner", jam=True).edited(edits))
    assert any(not measure.plucks for measure in jam.arrangement.measures if measure.source_measure == 2)
    assert await book.solo(plain.digest) == plain
    assert workers.done == ["read_file", "solo_of", "solo_of", "mixed_of", "jam_of"]


async def test_other_ways_are_found_once_for_a_solo_and_measure(book: Book, workers: AtOnce) -> None:
    tune = await gate(book)
    own = await book.made(Piece(tune, "intermediate"))
    mixed = await book.made(Piece(tune, "beginner", (2,)))
    workers.done.clear()

    ways = await book.ways(own.digest, 2)
    assert await book.ways(own.digest, 2) is ways
    assert workers.done == ["ways_of"]
    told = json.loads(ways.file)
    assert [way["number"] for way in told["ways"]] == list(range(1, len(ways.measures) + 1))
    in_mixed = json.loads((await book.ways(mixed.digest, 2)).file)
    assert (in_mixed["standing"]["tier"], in_mixed["standing"]["source_measure"]) == ("intermediate", 2)
    with pytest.raises(CoachError, match="Gate: there is no measure 9 as played; choose from 1 to 4"):
        await book.ways(own.digest, 9)
    with pytest.raises(InputError, match="this solo is not known any more"):
        await book.ways("0" * 64, 2)


async def test_ways_through_notes_that_are_locked_as_they_are_are_those_of_the_unlocked(
    book: Book, workers: AtOnce
) -> None:
    tune = await gate(book)
    own = await book.made(Piece(tune, "intermediate"))
    locked = Edits(tune, (lock(own.arrangement, own.arrangement.measures[0]),))
    same = await book.made(Piece(tune, "intermediate").edited(locked))
    assert same.digest == own.digest

    await book.ways(same.digest, 2)

    assert workers.given[-2:] == (None, ())  # no edits, and no licks


async def test_what_cannot_be_edited_says_why(book: Book, tune: Tune) -> None:
    name = await gate(book)
    given = (await book.add(to_json(arrange(tune, "beginner")), "given.json"))[0][0].id
    study = (await book.add(demo_files()[-1][1], "study.json"))[0][0].id
    jam = await book.made(Piece(name, "beginner", jam=True))

    assert book.why_not(Piece(name)) == book.why_not(Piece(name, mix=(2,))) == ""
    assert book.why_not(Piece("gone")) == ""
    reasons = [book.why_not(Piece(given)), book.why_not(Piece(study)), book.why_not(Piece(name, jam=True))]
    assert [reason.split(" ")[0] for reason in reasons] == ["This", "A", "What"]
    for digest, why in (((await book.made(Piece(given))).digest, reasons[0]), (jam.digest, reasons[2])):
        with pytest.raises(InputError) as raised:
            await book.ways(digest, 1)
        assert str(raised.value) == why


async def test_tunes_that_can_be_edited_are_met_before_they_are_in_the_list(book: Book, tune: Tune) -> None:
    met: list[tuple[list[str], int]] = []

    async def meet(tunes: Sequence[str]) -> None:
        met.append((list(tunes), len(book.lines())))

    lines, _ = await book.add(GATE, "gate.abc", meet)
    await book.add(GATE, "gate.abc", meet)
    await book.add(to_json(arrange(tune, "beginner")), "given.json", meet)

    assert met == [([lines[0].id], 0), ([], 1), ([], 1)]


async def test_files_that_come_at_once_do_not_overfill_the_book(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(book_module, "MOST_TUNES", 1)
    other = GATE.replace(b"Gate", b"Stile")

    async def meet(_: Sequence[str]) -> None:
        await asyncio.sleep(0)  # the other one goes on

    made = await asyncio.gather(*(book.add(data, "tune.abc", meet) for data in (GATE, other)), return_exceptions=True)

    assert [type(each) for each in made] == [tuple, InputError]
    assert [line.title for line in book.lines()] == ["Gate"]


async def test_what_is_not_known_is_not_found(book: Book) -> None:
    assert await book.solo("0" * 64) is None
    with pytest.raises(InputError, match="there is no tune 'gone' in this book"):
        await book.made(Piece("gone", jam=True))


async def test_measures_and_tiers_that_are_not_there_are_said(book: Book, tune: Tune) -> None:
    name = await gate(book)
    with pytest.raises(CoachError, match="there is no measure 9 as played; choose from 1 to 4"):
        await book.made(Piece(name, "beginner", (9,)))
    with pytest.raises(CoachError, match="there is no next tier to mix in"):
        await book.made(Piece(name, "advanced", (2,)))
    given = (await book.add(to_json(arrange(tune, "beginner")), "given.json"))[0][0].id
    assert book.tiers(name) == ("beginner", "intermediate", "advanced")
    assert book.tiers(given) == ("beginner",)
    with pytest.raises(CoachError, match="there is no advanced solo"):
        await book.made(Piece(given, "advanced"))
    with pytest.raises(CoachError, match="there is no next tier to mix in"):
        await book.made(Piece(given, "beginner", (2,)))
    assert (await book.made(Piece(given, "beginner", jam=True))).arrangement.measures
