"""Work that is done aside, in order, while sessions go on: what is told of a pass, and its files.

One thread does it for all sessions, so that the disk sees one writer and the event loop waits for neither.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Protocol, TypeVar

__all__ = ["Aside", "AtOnce", "Writer"]

T = TypeVar("T")

_log = logging.getLogger(__name__)


class Aside(Protocol):
    """Who does work aside."""

    def do(self, work: Callable[[], T], done: Callable[[T], None]) -> Future[None] | None:
        """Do some work, behind what was given before; ``done`` is called on the event loop with what came of it.

        Returns:
            that it is done, but for ``done``; None where it is already.
        """
        ...


class AtOnce:
    """Does it at once: for tests and replays."""

    def do(self, work: Callable[[], T], done: Callable[[T], None]) -> Future[None] | None:
        """Do it."""
        done(work())
        return None


class Writer:
    """Does it in a thread of its own.

    Args:
        hand_over: runs something on the event loop.
    """

    def __init__(self, hand_over: Callable[[Callable[[], None]], None]) -> None:
        self._hand_over = hand_over
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="writer")

    def do(self, work: Callable[[], T], done: Callable[[T], None]) -> Future[None] | None:
        """Do it when its turn comes; what goes wrong in it is written to the log."""

        def run() -> None:
            try:
                result = work()
            except Exception:
                _log.exception("What was played could not be told or written")
                raise
            self._hand_over(lambda: done(result))

        return self._thread.submit(run)

    def close(self) -> None:
        """Finish what was given."""
        self._thread.shutdown()
