"""The one bridge between written time and heard time.

Written time is an exact ``Fraction`` of a quarter note; heard time is float seconds on one clock.
Names say which: ``at`` and ``length`` are written, ``seconds`` and ``offset_ms`` are heard.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["TempoMap"]

STRAIGHT = 50
MOST_BOUNCE = 67


@dataclass(frozen=True, slots=True)
class TempoMap:
    """Converts positions of one pass between written and heard time.

    Attributes:
        tempo: quarters a minute, > 0.
        origin: the heard time, in seconds, of written position 0 of the pass.
        bounce: where the off-beat of a pair of slots falls, in percent of the pair: 50 is straight, 67 a
            triplet feel. Positions within each half of a pair are stretched evenly.
        pair: the written length of a pair of slots, in quarters; only used with bounce.
        phase: a written position at which a pair begins (the end of a pickup measure, say).

    Raises:
        ValueError: when a field is out of its range.
    """

    tempo: float
    origin: float = 0.0
    bounce: int = STRAIGHT
    pair: Fraction = Fraction(1)
    phase: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        if not 0 < self.tempo < float("inf"):
            raise ValueError(f"tempo must be positive, got {self.tempo!r}")
        if not STRAIGHT <= self.bounce <= MOST_BOUNCE:
            raise ValueError(f"bounce must be in range {STRAIGHT}..{MOST_BOUNCE}, got {self.bounce!r}")
        if self.pair <= 0:
            raise ValueError(f"pair must be positive, got {self.pair!r}")

    @property
    def quarter(self) -> float:
        """The length of a quarter note in seconds."""
        return 60.0 / self.tempo

    def seconds(self, at: Fraction) -> float:
        """The heard time, in seconds, of a written position in quarters."""
        if self.bounce == STRAIGHT:
            return self.origin + float(at) * self.quarter
        pairs, rest = divmod(at - self.phase, self.pair)
        share = float(rest / self.pair)
        middle = self.bounce / 100
        bent = share * 2 * middle if share < 0.5 else middle + (share - 0.5) * 2 * (1 - middle)
        return self.origin + (float(self.phase + pairs * self.pair) + bent * float(self.pair)) * self.quarter

    def written(self, seconds: float) -> float:
        """The written position, in quarters, of a heard time: the inverse of :meth:`seconds`."""
        quarters = (seconds - self.origin) / self.quarter
        if self.bounce == STRAIGHT:
            return quarters
        pair, phase = float(self.pair), float(self.phase)
        pairs, rest = divmod(quarters - phase, pair)
        share = rest / pair
        middle = self.bounce / 100
        straight = share / (2 * middle) if share < middle else 0.5 + (share - middle) / (2 * (1 - middle))
        return phase + (pairs + straight) * pair
