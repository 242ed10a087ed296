"""Traits: what earlier passes have shown of a player and an instrument, and what follows from it for the next pass.

Learned from the plucks that were played, a pass at a time, by the same sums live and offline; a recorded take that is
scored as a whole is judged by what all its passes show (:func:`coach.listening.report.score`).

Gate
    Half of the velocity that 95 of 100 plucks reach (the 5th percentile, by nearest rank). What is softer than
    that is not how this player plays. There is none below 20 plucks. An instrument that sends one velocity for all it
    hears has a gate that nothing falls under. (Numbers of our own: common practice, no source.)
Holding
    Many triggers end a note at once, whatever the string does. An instrument holds its notes when at least 20 plucks
    were ended later than 20 ms after they began, and for each that ended sooner there are 20 of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["PLUCK", "Traits"]

PLUCK = 20_000
"""A pluck sounds longer than this, in microseconds."""

LEAST_PLUCKS = 20
LEAST_HELD = 20  # for each that was not
GATE = (1, 2)  # the share of the velocity that the softest plucks have
SOFTEST = 20  # one in so many is softer than that velocity

_VELOCITIES = 128


@dataclass(frozen=True, slots=True)
class Traits:
    """What earlier passes have shown.

    Attributes:
        velocities: how many plucks were played with each velocity, 128 numbers; empty where none were.
        held: how many plucks were ended later than a pluck may be.
        cut: how many were ended sooner.
    """

    velocities: tuple[int, ...] = ()
    held: int = 0
    cut: int = 0

    @property
    def gate(self) -> int:
        """The velocity below which nothing is a pluck of the player's, 0 where it is not known."""
        plucks = sum(self.velocities)
        if plucks < LEAST_PLUCKS:
            return 0
        left = -(-plucks // SOFTEST)
        for velocity, count in enumerate(self.velocities):
            left -= count
            if left <= 0:
                return velocity * GATE[0] // GATE[1]
        raise AssertionError("the counts do not add up")

    @property
    def holds(self) -> bool:
        """Whether the instrument ends a note when it has died away, and not at once."""
        return self.held >= max(LEAST_PLUCKS, LEAST_HELD * self.cut)

    def learned(self, velocities: Iterable[int], lengths: Iterable[int]) -> Traits:
        """The traits after another pass.

        Args:
            velocities: of the plucks that were played, 0..127.
            lengths: how long those sounded that were ended, in microseconds.
        """
        counts = list(self.velocities or (0,) * _VELOCITIES)
        plucks = 0
        for velocity in velocities:
            counts[velocity] += 1
            plucks += 1
        all_lengths = list(lengths)
        held = sum(length > PLUCK for length in all_lengths)
        return Traits(
            tuple(counts) if plucks else self.velocities,
            self.held + held,
            self.cut + len(all_lengths) - held,
        )
