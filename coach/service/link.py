"""The service's end of one page's websocket: what waits to be sent, and how much may come.

Sessions put messages into a link and never wait. What is said in one go leaves in one go: each message is a frame of
its own, several frames are one write. A slow page loses provisional marks that have grown stale, and, before it is
given up, all provisional marks; nothing else is ever left out. One that does not read is let go, in bounded memory and
time; it comes back, and is told the state anew. For a desk the same holds of the notes of the one who is looked at, and
a newer card of a student takes the place of one that waits.
"""

from __future__ import annotations

import asyncio
import math
from collections import deque
from collections.abc import Awaitable, Callable, Sequence
from typing import NamedTuple, Protocol

from coach.service.clock import Now
from coach.service.protocol import Card, FromService, HeardMark, Live, Sounded, encode

__all__ = ["Line", "Link", "TokenBucket"]

STALE = 0.25
"""Seconds after which a provisional mark that was not sent is worth nothing."""

CROWDED = 64
"""Messages waiting from which stale marks are dropped."""

LOOKS = STALE / 4
"""Seconds between looks through all that waits for stale marks: a loop that is behind would do so at each message, and
fall behind further."""

FULL = 8192
"""Messages waiting at which a page is let go."""

FULL_BYTES = 2_000_000
"""The same in bytes: the list of a tune book of thousands and all that is told of a pass fit several times."""

PATIENCE = 30.0
"""Seconds after which a page is let go that has read nothing of what waits."""


_HEARD = b'{"kind":"heard"'
"""How a provisional mark begins."""


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


class Line(Protocol):
    """What takes several messages at once, where the server knows how (:mod:`~coach.service.frames`)."""

    @property
    def is_free(self) -> bool:
        """Whether it takes more at the moment."""
        ...

    def write(self, messages: Sequence[bytes]) -> None:
        """Send messages, each in a frame of its own."""
        ...


class _Waiting(NamedTuple):
    since: float
    is_mark: bool
    text: bytes
    card_of: str = ""


class Link:
    """Messages on their way to one page.

    Args:
        now: the service's clock.
        line: takes them; None where :meth:`drain` does.
        full: called once, when so much waits, or for so long, that the page is to be let go.
    """

    def __init__(self, now: Now, line: Line | None = None, full: Callable[[], None] = lambda: None) -> None:
        self._now = now
        self._line = line
        self._full = full
        self._waiting: deque[_Waiting] = deque()
        self._size = 0
        self._marks: deque[float] = deque()  # since when each of the marks waits
        self._some = asyncio.Event()
        self._looks_at = -math.inf  # when stale marks are looked for next
        self._is_flushing = False
        self._closed = False
        self.overflowed = False

    @property
    def size(self) -> int:
        """Bytes that wait."""
        return self._size

    def send(self, message: FromService) -> None:
        """Queue a message; never waits, never fails."""
        if self._closed:
            return
        text, now = _encoded(message), self._now()
        if self._waiting:
            is_crowd = len(self._waiting) >= CROWDED and now >= self._looks_at
            if is_crowd and self._marks and self._marks[0] < now - STALE:
                self._drop_marks(now - STALE)
                self._looks_at = now + LOOKS
            if self._is_full(len(text)):
                self._drop_marks(math.inf)
            if self._is_full(len(text)) or (self._waiting and self._waiting[0].since < now - PATIENCE):
                self.overflowed = True
                self.close()
                self._full()
                return
        if isinstance(message, Card) and len(self._waiting) >= CROWDED and self._replace(message.student, text):
            return
        is_mark = _passes(message)
        self._waiting.append(_Waiting(now, is_mark, text, message.student if isinstance(message, Card) else ""))
        self._size += len(text)
        if is_mark:
            self._marks.append(now)
        if self._line is None:
            self._some.set()
        elif not self._is_flushing and self._line.is_free:
            # What is said until then goes along with it.
            self._is_flushing = True
            asyncio.get_running_loop().call_soon(self.flush)

    def close(self) -> None:
        """Nothing more goes out."""
        self._closed = True
        self._clear()
        self._some.set()

    def flush(self) -> None:
        """Send what waits, if the line takes it; it asks for more when it does."""
        self._is_flushing = False
        if self._line is not None and self._waiting and self._line.is_free:
            texts = [each.text for each in self._waiting]
            self._clear()
            self._line.write(texts)

    async def drain(self, send: Callable[[str], Awaitable[None]]) -> None:
        """Send what is queued, in order, until the link is closed; for a server that has no line of ours."""
        while not self._closed:
            await self._some.wait()
            self._some.clear()
            while self._waiting:
                each = self._waiting.popleft()
                self._size -= len(each.text)
                if each.is_mark:
                    self._marks.popleft()
                await send(each.text.decode())

    def _replace(self, student: str, text: bytes) -> bool:
        """Put the card of a student in the place of the one that waits; False where none does."""
        for place, each in enumerate(self._waiting):
            if each.card_of == student:
                self._waiting[place] = each._replace(text=text)
                self._size += len(text) - len(each.text)
                return True
        return False

    def _is_full(self, more: int) -> bool:
        return len(self._waiting) >= FULL or self._size + more > FULL_BYTES

    def _clear(self) -> None:
        self._waiting.clear()
        self._marks.clear()
        self._size = 0

    def _drop_marks(self, before: float) -> None:
        """Drop the marks that have waited since before a time."""
        self._waiting = deque(each for each in self._waiting if not (each.is_mark and each.since < before))
        self._size = sum(len(each.text) for each in self._waiting)
        while self._marks and self._marks[0] < before:
            self._marks.popleft()


def _passes(message: FromService) -> bool:
    """Whether a message is worth nothing a moment later: provisional marks and notes to be heard."""
    if isinstance(message, Live):
        return bytes(memoryview(message.message)[: len(_HEARD)]) == _HEARD
    return isinstance(message, HeardMark | Sounded)


class _Latest:
    """The message that was written down last: what goes to several pages, or to lookers on, is written down once."""

    message: FromService | None = None
    text = b""


def _encoded(message: FromService) -> bytes:
    if _Latest.message is not message:
        _Latest.text = encode(message)
        _Latest.message = message
    return _Latest.text
