"""The service's end of one page's websocket: what waits to be sent, and how much may come.

Sessions put messages into a link and never wait. A slow page loses provisional marks that have grown stale, and nothing
else; one that does not read at all is let go, comes back, and is told the state anew.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable

from coach.service.clock import Now
from coach.service.protocol import FromService, HeardMark, encode

__all__ = ["Link", "TokenBucket"]

STALE = 0.25
"""Seconds after which a provisional mark that was not sent is worth nothing."""

CROWDED = 64
"""Messages waiting from which stale marks are dropped."""

FULL = 8192
"""Messages waiting at which a page is let go."""


class TokenBucket:
    """Allows ``burst`` at once and ``rate`` a second in the long run."""

    def __init__(self, rate: float, burst: float, now: Now) -> None:
        self._rate = rate
        self._burst = burst
        self._now = now
        self._tokens = burst
        self._then = now()

    def take(self) -> bool:
        """Take one token; False when there is none."""
        now = self._now()
        self._tokens = min(self._burst, self._tokens + (now - self._then) * self._rate)
        self._then = now
        if self._tokens < 1:
            return False
        self._tokens -= 1
        return True


class Link:
    """Messages on their way to one page.

    Attributes:
        overflowed: whether so much waited that the page is to be let go.
    """

    def __init__(self, now: Now) -> None:
        self._now = now
        self._waiting: deque[tuple[float, bool, str]] = deque()
        self._some = asyncio.Event()
        self._closed = False
        self.overflowed = False

    def send(self, message: FromService) -> None:
        """Queue a message; never waits, never fails."""
        if self._closed:
            return
        if len(self._waiting) >= CROWDED:
            self._drop_stale()
        if len(self._waiting) >= FULL:
            self.overflowed = True
            self.close()
            return
        self._waiting.append((self._now(), isinstance(message, HeardMark), encode(message)))
        self._some.set()

    def close(self) -> None:
        """Nothing more goes out."""
        self._closed = True
        self._waiting.clear()
        self._some.set()

    async def drain(self, send: Callable[[str], Awaitable[None]]) -> None:
        """Send what is queued, in order, until the link is closed."""
        while not self._closed:
            await self._some.wait()
            self._some.clear()
            while self._waiting:
                _, _, text = self._waiting.popleft()
                await send(text)

    def _drop_stale(self) -> None:
        limit = self._now() - STALE
        self._waiting = deque(entry for entry in self._waiting if not (entry[1] and entry[0] < limit))
