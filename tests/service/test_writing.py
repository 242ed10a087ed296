"""The solos of a tune as they are written, tier by tier."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from coach.arranging.arrangement import Tier
from coach.arranging.edits import Edits, Lock
from coach.errors import ArrangeError, CoachError, InputError
from coach.service.jobs import Solo
from coach.service.pieces import Piece
from coach.service.writing import progress, write_solos

TIERS: tuple[Tier, ...] = ("beginner", "intermediate", "advanced")
EDITS = Edits("lane", (Lock("advanced", 3, ()),))


class Slow:
    """A book whose solos are written when the test says so."""

    def __init__(self, solos: dict[Tier, Solo]) -> None:
        self.asked: list[Piece] = []
        self._written = {tier: asyncio.get_running_loop().create_future() for tier in TIERS}
        self._solos = solos

    def tiers(self, tune: str) -> tuple[Tier, ...]:
        if tune != "lane":
            raise InputError(f"there is no tune {tune!r} in this book")
        return TIERS

    async def made(self, piece: Piece) -> Solo:
        self.asked.append(piece)
        solo: Solo = await self._written[piece.tier]
        return solo

    async def write(self, tier: Tier) -> None:
        self._written[tier].set_result(self._solos[tier])
        await asyncio.sleep(0)
        await asyncio.sleep(0)

    async def fail(self, tier: Tier, error: CoachError) -> None:
        self._written[tier].set_exception(error)
        await asyncio.sleep(0)
        await asyncio.sleep(0)


class Taken:
    """What was handed over."""

    def __init__(self) -> None:
        self.all: list[tuple[Any, bool, CoachError | None]] = []

    def __call__(self, solos: Any, /, *, more: bool = False, lacking: CoachError | None = None) -> None:
        told = solos if isinstance(solos, CoachError) else list(solos)
        self.all.append((told, more, lacking))


async def begun(book: Any, taken: Taken, first: Tier = "beginner", edits: Edits | None = None) -> asyncio.Task[None]:
    task = asyncio.ensure_future(write_solos(book, "lane", first, edits, taken))
    await asyncio.sleep(0)
    await asyncio.sleep(0)
    return task


async def test_each_is_handed_over_as_it_comes_the_easiest_first_in_the_list(solos: Any) -> None:
    book, taken = Slow(solos), Taken()
    task = await begun(book, taken, "intermediate")
    assert [piece.tier for piece in book.asked] == ["intermediate", "beginner", "advanced"]

    await book.write("advanced")
    await book.write("beginner")
    assert taken.all == [(["advanced"], True, None), (["beginner", "advanced"], True, None)]

    await book.write("intermediate")
    await task
    assert taken.all[2:] == [(list(TIERS), False, None)]


async def test_a_tier_that_has_none_is_said_and_the_others_are_there(solos: Any) -> None:
    book, taken = Slow(solos), Taken()
    task = await begun(book, taken)
    error = ArrangeError("no hand can play what the advanced solo would need here")
    await book.fail("advanced", error)
    await book.write("beginner")
    await book.write("intermediate")
    await task

    assert taken.all == [(["beginner"], True, None), (["beginner", "intermediate"], False, error)]


async def test_where_there_is_none_at_all_the_first_reason_is_said(solos: Any) -> None:
    book, taken = Slow(solos), Taken()
    task = await begun(book, taken)
    errors = {tier: CoachError(f"no {tier}") for tier in TIERS}
    for tier in reversed(TIERS):
        await book.fail(tier, errors[tier])
    await task

    assert taken.all == [(errors["beginner"], False, None)]


async def test_each_is_made_with_the_edits_that_are_for_it(solos: Any) -> None:
    book, taken = Slow(solos), Taken()
    task = await begun(book, taken, edits=EDITS)
    assert [piece.edits for piece in book.asked] == [None, None, EDITS]

    await book.write("beginner")
    await book.write("intermediate")
    error = ArrangeError("the tune has no measure 3 on paper")
    await book.fail("advanced", error)
    with pytest.raises(ArrangeError) as raised:
        await task
    assert raised.value is error
    assert all(more for _, more, _ in taken.all)


async def test_a_tier_that_fails_without_edits_is_no_fault_of_theirs(solos: Any) -> None:
    book, taken = Slow(solos), Taken()
    task = await begun(book, taken, edits=EDITS)
    error = ArrangeError("no hand can play it")
    await book.fail("beginner", error)
    await book.write("intermediate")
    await book.write("advanced")
    await task

    assert taken.all[-1] == (["intermediate", "advanced"], False, error)


async def test_a_tune_that_is_not_there_is_said(solos: Any) -> None:
    taken = Taken()
    await write_solos(Slow(solos), "gone", "beginner", None, taken)  # type: ignore[arg-type]

    ((error, more, _),) = taken.all
    assert (str(error), more) == ("there is no tune 'gone' in this book.", False)


def test_it_is_said_what_is_there_and_what_is_to_come(solos: Any) -> None:
    one = {"beginner": solos["beginner"]}
    two = one | {"advanced": solos["advanced"]}
    assert progress(one) == "Writing the solos: beginner is there, intermediate and advanced …"  # type: ignore[arg-type]
    assert progress(two) == "Writing the solos: beginner and advanced are there, intermediate …"  # type: ignore[arg-type]
