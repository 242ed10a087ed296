"""What sessions and desks say to each other without knowing where the other one is.

Whatever is said goes by a topic, as bytes, to all who have subscribed to it then; nothing is kept for those who come
later, and nobody waits for an answer. So a message broker can stand behind :class:`Bus` where sessions are spread over
processes; in one process :class:`LocalBus` is all there is to it.
"""

from __future__ import annotations

import logging
from collections import deque
from collections.abc import Callable
from typing import Protocol

__all__ = ["Bus", "LocalBus", "Taker"]

Taker = Callable[[bytes], None]
"""Takes what is said of a topic."""

_log = logging.getLogger(__name__)


class Bus(Protocol):
    """Carries what is said to those who have subscribed."""

    def publish(self, topic: str, data: bytes) -> None:
        """Say something; never fails, whatever those do who take it."""
        ...

    def subscribe(self, topic: str, take: Taker) -> Callable[[], None]:
        """Have what is said of a topic from now on; what is returned ends it, and may be called again."""
        ...

    def is_wanted(self, topic: str) -> bool:
        """Whether anybody may have subscribed, so that it is worth writing something; True where that is not known."""
        ...


class LocalBus:
    """The bus of one process.

    What is said is taken before :meth:`publish` returns, in the order in which it was said. What is said by one who
    takes something comes after what was said before it, so nobody is called again while they are at it.
    """

    def __init__(self) -> None:
        self._takers: dict[str, list[Taker]] = {}
        self._said: deque[tuple[str, bytes]] = deque()
        self._is_at_it = False

    def publish(self, topic: str, data: bytes) -> None:
        """Say something."""
        if topic not in self._takers:
            return
        self._said.append((topic, data))
        if self._is_at_it:
            return
        self._is_at_it = True
        try:
            while self._said:
                self._deliver(*self._said.popleft())
        finally:
            self._is_at_it = False

    def subscribe(self, topic: str, take: Taker) -> Callable[[], None]:
        """Have what is said of a topic from now on."""

        def taker(data: bytes) -> None:  # of its own, so that one who subscribes twice can end one of the two
            take(data)

        self._takers.setdefault(topic, []).append(taker)

        def end() -> None:
            takers = self._takers.get(topic, [])
            if taker in takers:
                takers.remove(taker)
                if not takers:
                    del self._takers[topic]

        return end

    def is_wanted(self, topic: str) -> bool:
        """Whether anybody has subscribed."""
        return topic in self._takers

    def _deliver(self, topic: str, data: bytes) -> None:
        for take in tuple(self._takers.get(topic, ())):
            if take not in self._takers.get(topic, ()):
                continue  # ended by one who was called before
            try:
                take(data)
            except Exception:  # noqa: BLE001 - one who stumbles is no trouble of the others
                _log.exception("What was said of %s could not be taken", topic)
