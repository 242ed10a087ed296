"""The session clock, and the bridge from a page's clock to it.

The service's clock is monotonic seconds. A page has a clock of its own; four stamps of one exchange (RFC 5905,
section 8) give its offset and the delay of the network::

    service   t1 ─ping─►            t4
    page            t2 ──pong─► t3

    theta = ((t2 - t1) + (t3 - t4)) / 2      what to add to service time to get page time
    delta = (t4 - t1) - (t3 - t2)            the time the two messages were on their way

Of the last eight exchanges the one with the least delay is believed (section 10, the clock filter): its error is at
most half its delay, however lopsided the way was.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["ClockFilter", "ClockMap", "FakeClock", "Now", "monotonic"]

Now = Callable[[], float]
"""Seconds on the service's clock."""

STAGES = 8
"""Exchanges kept: the length of the shift register of RFC 5905's clock filter."""


def monotonic() -> float:
    """The service's clock: monotonic seconds, the same in all threads of the process."""
    return time.monotonic()


class FakeClock:
    """A clock that stands still until it is told to go on: for tests and for replays."""

    def __init__(self, at: float = 0.0) -> None:
        self.at = at

    def __call__(self) -> float:
        """The time, in seconds."""
        return self.at

    def advance(self, seconds: float) -> None:
        """Go on by ``seconds``, >= 0."""
        if seconds < 0:
            raise ValueError(f"a clock goes forward only, got {seconds!r}")
        self.at += seconds


@dataclass(frozen=True, slots=True)
class ClockMap:
    """A frozen mapping between a page's clock and the service's.

    Attributes:
        theta: page time less service time, in seconds.
        delta: the delay of the exchange it came from, in seconds; twice the largest possible error.
    """

    theta: float
    delta: float

    def to_service(self, page_seconds: float) -> float:
        """Page time as service time."""
        return page_seconds - self.theta

    def to_page(self, service_seconds: float) -> float:
        """Service time as page time."""
        return service_seconds + self.theta


class ClockFilter:
    """Collects exchanges of one page and gives the best mapping so far."""

    def __init__(self) -> None:
        self._exchanges: deque[ClockMap] = deque(maxlen=STAGES)

    def add(self, t1: float, t2: float, t3: float, t4: float) -> ClockMap | None:
        """Take in one exchange.

        Args:
            t1, t4: when the ping left and the pong came, on the service's clock.
            t2, t3: when the ping came and the pong left, on the page's clock.

        Returns:
            what the exchange says, or None where its stamps contradict each other (a negative delay).
        """
        exchange = ClockMap(theta=((t2 - t1) + (t3 - t4)) / 2, delta=(t4 - t1) - (t3 - t2))
        if t3 < t2 or exchange.delta < 0:
            return None
        self._exchanges.append(exchange)
        return exchange

    @property
    def best(self) -> ClockMap | None:
        """The mapping of the exchange with the least delay among the last eight; None before the first."""
        return min(self._exchanges, key=lambda exchange: exchange.delta, default=None)
