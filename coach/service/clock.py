"""The session clock, and the bridge from a page's clock to it.

The service's clock is monotonic seconds. A page has a clock of its own; four stamps of one exchange (RFC 5905,
section 8) give its offset and the delay of the network::

    service   t1 ─ping─►            t4
    page            t2 ──pong─► t3

    theta = ((t2 - t1) + (t3 - t4)) / 2      what to add to service time to get page time
    delta = (t4 - t1) - (t3 - t2)            the time the two messages were on their way

However lopsided the way was, the offset lies between t3 - t4 and t2 - t1, which is theta - delta/2 to theta + delta/2
(sections 4 and 10). The clocks drift apart: an exchange that is some seconds old says less than it did, by no more than
500 parts in a million of its age (MAXFREQ of section 11, from memory). The least ways of all exchanges together bound
the offset from both sides; it is believed to lie in the middle.

Where the exchanges of some minutes show how fast the clocks drift, that is taken into account. The rate is that at
which the two envelopes, the least ways out and the least ways back, lie furthest apart: delays only ever add, so a line
of a wrong slope has to give way at one end (after the envelopes of Moon, Skelly and Towsley, "Estimation and removal of
clock skew from network delay measurements", 1999; from memory).
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass

__all__ = ["ClockFilter", "ClockMap", "Exchange", "FakeClock", "Now", "monotonic"]

Now = Callable[[], float]
"""Seconds on the service's clock."""

WINDOW = 600.0
"""Seconds for which an exchange is remembered."""

MOST_EXCHANGES = 300

FASTEST = 500e-6
"""The most by which two clocks drift apart, as a share of the time: MAXFREQ of RFC 5905 (from memory)."""

WANDER = 15e-6
"""By how much a drift that is known may change: PHI of RFC 5905, the tolerance of clocks (from memory)."""

EVIDENCE = 120.0
"""Seconds of exchanges that must be there before they say anything of a drift."""

SURE = 100e-6
"""How well a drift must be known to be counted on. What is told of it is far on the safe side: over ways of 150 ms with
80 ms of jitter it is known to some 10 millionths then (computed)."""

_STEPS = 40
"""Thirds that the search for a rate takes off: a ten millionth of its range is left."""

_ROUNDING = 1e-6
"""Seconds that rounding may cost: stamps of a page are large numbers."""


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
class Exchange:
    """What one exchange says.

    Attributes:
        at: when it ended, on the service's clock.
        low, high: between which page time less service time lay then, in seconds.
    """

    at: float
    low: float
    high: float

    @property
    def theta(self) -> float:
        """Page time less service time, in seconds, as near as it tells."""
        return (self.low + self.high) / 2

    @property
    def delta(self) -> float:
        """The delay, in seconds; twice the largest possible error."""
        return self.high - self.low


@dataclass(frozen=True, slots=True)
class ClockMap:
    """A frozen mapping between a page's clock and the service's.

    Attributes:
        theta: page time less service time, in seconds, at ``at``.
        delta: twice the largest possible error at ``at``, in seconds.
        at: when it was made, on the service's clock.
        rate: by how much the page's clock is faster than the service's, as a share.
        doubt: how far the rate may be from the truth.
    """

    theta: float
    delta: float
    at: float = 0.0
    rate: float = 0.0
    doubt: float = FASTEST

    def to_service(self, page_seconds: float) -> float:
        """Page time as service time."""
        return self.at + (page_seconds - self.theta - self.at) / (1.0 + self.rate)

    def to_page(self, service_seconds: float) -> float:
        """Service time as page time."""
        return service_seconds + self.theta + self.rate * (service_seconds - self.at)

    def error(self, service_seconds: float) -> float:
        """By how much the mapping may be wrong at a time, in seconds."""
        return self.delta / 2 + self.doubt * abs(service_seconds - self.at)


class ClockFilter:
    """Collects exchanges of one page and gives the best mapping so far."""

    def __init__(self) -> None:
        self._exchanges: deque[Exchange] = deque(maxlen=MOST_EXCHANGES)
        self._best: ClockMap | None = None  # of these exchanges; it takes some milliseconds and is asked for often

    def add(self, t1: float, t2: float, t3: float, t4: float) -> Exchange | None:
        """Take in one exchange.

        Args:
            t1, t4: when the ping left and the pong came, on the service's clock.
            t2, t3: when the ping came and the pong left, on the page's clock.

        Returns:
            what the exchange says, or None where its stamps contradict each other (a negative delay).
        """
        exchange = Exchange(t4, low=t3 - t4, high=t2 - t1)
        if t3 < t2 or exchange.delta < 0:
            return None
        self._best = None
        while self._exchanges and self._exchanges[0].at < t4 - WINDOW:
            self._exchanges.popleft()
        self._exchanges.append(exchange)
        if _bounds(self._exchanges, 0.0, FASTEST) is None:
            # A clock that stood still, as some do while the machine sleeps: what was before is nothing to it.
            self._exchanges.clear()
            self._exchanges.append(exchange)
        return exchange

    @property
    def is_empty(self) -> bool:
        """Whether nothing is known of the page's clock yet."""
        return not self._exchanges

    @property
    def latest(self) -> Exchange | None:
        """The last exchange."""
        return self._exchanges[-1] if self._exchanges else None

    @property
    def best(self) -> ClockMap | None:
        """The mapping that all exchanges together give, as of the last one; None before the first."""
        if self._best is None and self._exchanges:
            self._best = self._found()
        return self._best

    def _found(self) -> ClockMap:
        rate, doubt = self._drift()
        bounds = _bounds(self._exchanges, rate, doubt)
        if bounds is None:  # the drift has changed: it says nothing
            rate, doubt = 0.0, FASTEST
            bounds = _bounds(self._exchanges, rate, doubt)
            assert bounds is not None
        low, high = bounds
        return ClockMap((low + high) / 2, high - low, self._exchanges[-1].at, rate, doubt)

    def _drift(self) -> tuple[float, float]:
        """How fast the clocks drift apart, and how far that may be from the truth; 0 where nothing tells.

        How well it is known goes by how much longer the least ways at the beginning and at the end were than the least
        of all: by half of that at most, each, the line may be tilted where the least ways themselves stay the same.
        """
        exchanges = self._exchanges
        span = exchanges[-1].at - exchanges[0].at
        if span < EVIDENCE:
            return 0.0, FASTEST
        early = [each.delta for each in exchanges if each.at < exchanges[0].at + span / 3]
        late = [each.delta for each in exchanges if each.at > exchanges[-1].at - span / 3]
        least = min(each.delta for each in exchanges)
        doubt = (min(early) + min(late) - 2 * least) / 2 / (span / 3) + WANDER
        if doubt > SURE:
            return 0.0, FASTEST
        return _widest(exchanges), doubt


def _bounds(exchanges: Iterable[Exchange], rate: float, doubt: float) -> tuple[float, float] | None:
    """Between which the offset lies at the last exchange, if the clocks drift by ``rate``, give or take ``doubt``; None
    where the exchanges contradict each other then."""
    exchanges = list(exchanges)
    now = exchanges[-1].at
    low = max(each.low + (rate - doubt) * (now - each.at) for each in exchanges)
    high = min(each.high + (rate + doubt) * (now - each.at) for each in exchanges)
    return None if low > high + _ROUNDING else (min(low, high), max(low, high))


def _widest(exchanges: Collection[Exchange]) -> float:
    """The rate at which the envelopes of the ways out and back lie furthest apart.

    How far apart they lie is the least of straight lines less the greatest of others, so it has one summit over all
    rates: each step takes off the third in which it cannot be.
    """
    points = [(each.at - next(iter(exchanges)).at, each.low, each.high) for each in exchanges]

    def width(rate: float) -> float:
        highs = min(high - rate * at for at, _, high in points)
        return highs - max(low - rate * at for at, low, _ in points)

    slow, fast = -FASTEST, FASTEST
    for _ in range(_STEPS):
        third = (fast - slow) / 3
        if width(slow + third) < width(fast - third):
            slow += third
        else:
            fast -= third
    return (slow + fast) / 2
