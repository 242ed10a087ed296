"""A shelf of things that are costly to make: made once, kept while they are used, the longest unused given up."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable, Hashable
from typing import Generic, TypeVar

__all__ = ["Shelf"]

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class Shelf(Generic[K, V]):
    """Keeps at most ``room`` finished things.

    Those who ask for the same thing at the same time wait for one making of it; one who goes away does not end it for
    the others. What cannot be made is not kept: the next one who asks tries again.
    """

    def __init__(self, room: int) -> None:
        self._room = room
        self._kept: OrderedDict[K, V] = OrderedDict()
        self._in_making: dict[K, asyncio.Task[V]] = {}

    def get(self, key: K) -> V | None:
        """What is kept under a key, None where it is not there (yet, or any more)."""
        if key not in self._kept:
            return None
        self._kept.move_to_end(key)
        return self._kept[key]

    def put(self, key: K, thing: V) -> None:
        """Keep a thing; the one that was not asked for longest goes when there is no room."""
        self._kept[key] = thing
        self._kept.move_to_end(key)
        while len(self._kept) > self._room:
            self._kept.popitem(last=False)

    async def get_or_make(self, key: K, make: Callable[[], Awaitable[V]]) -> V:
        """What is kept under a key, made now where it is not there. Raises what ``make`` raises."""
        kept = self.get(key)
        if kept is not None:
            return kept
        task = self._in_making.get(key)
        if task is None:
            task = asyncio.ensure_future(self._make(key, make))
            self._in_making[key] = task
            task.add_done_callback(_look_at)
        return await asyncio.shield(task)

    async def close(self) -> None:
        """End what is being made."""
        tasks = tuple(self._in_making.values())
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    async def _make(self, key: K, make: Callable[[], Awaitable[V]]) -> V:
        try:
            thing = await make()
            self.put(key, thing)
        finally:
            del self._in_making[key]
        return thing


def _look_at(task: asyncio.Task[V]) -> None:
    """Look at the outcome, so that one nobody waited for is no complaint of the event loop."""
    if not task.cancelled():
        task.exception()
