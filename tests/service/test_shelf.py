"""A shelf: made once, kept, given up in order of disuse."""

import asyncio

import pytest

from coach.errors import CoachError
from coach.service.shelf import Shelf


async def test_two_who_ask_at_once_share_one_making() -> None:
    shelf: Shelf[str, int] = Shelf(4)
    made = 0
    go_on = asyncio.Event()

    async def make() -> int:
        nonlocal made
        made += 1
        await go_on.wait()
        return 7

    first = asyncio.ensure_future(shelf.get_or_make("a", make))
    second = asyncio.ensure_future(shelf.get_or_make("a", make))
    await asyncio.sleep(0)
    go_on.set()

    assert await asyncio.gather(first, second) == [7, 7]
    assert await shelf.get_or_make("a", make) == 7
    assert made == 1


async def test_one_who_goes_away_does_not_end_it_for_the_others() -> None:
    shelf: Shelf[str, int] = Shelf(4)
    go_on = asyncio.Event()

    async def make() -> int:
        await go_on.wait()
        return 7

    first = asyncio.ensure_future(shelf.get_or_make("a", make))
    second = asyncio.ensure_future(shelf.get_or_make("a", make))
    await asyncio.sleep(0)
    first.cancel()
    await asyncio.sleep(0)
    go_on.set()

    assert await second == 7
    assert first.cancelled()


async def test_a_failure_is_not_kept() -> None:
    shelf: Shelf[str, int] = Shelf(4)
    answers = [CoachError("no"), 7]

    async def make() -> int:
        answer = answers.pop(0)
        if isinstance(answer, CoachError):
            raise answer
        return answer

    with pytest.raises(CoachError, match="no"):
        await shelf.get_or_make("a", make)

    assert await shelf.get_or_make("a", make) == 7


async def test_the_longest_unused_goes_first() -> None:
    shelf: Shelf[str, int] = Shelf(2)
    shelf.put("a", 1)
    shelf.put("b", 2)
    assert shelf.get("a") == 1
    shelf.put("c", 3)

    assert (shelf.get("a"), shelf.get("b"), shelf.get("c")) == (1, None, 3)


async def test_closing_ends_what_is_being_made() -> None:
    shelf: Shelf[str, int] = Shelf(2)

    async def make() -> int:
        await asyncio.Event().wait()
        return 7

    waiting = asyncio.ensure_future(shelf.get_or_make("a", make))
    await asyncio.sleep(0)
    await shelf.close()

    with pytest.raises(asyncio.CancelledError):
        await waiting
