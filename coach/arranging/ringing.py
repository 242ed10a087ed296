"""How a solo sounds: when each pluck begins, until when its string rings, how strongly, and the bounce of the beats.

Positions are written time from the start of the first measure, in quarters. Common practice, no source: a string rings
until it is sounded again, and the melody stands out from the fill.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from coach.arranging.arrangement import Arrangement, Pluck, Role
from coach.tempo import STRAIGHT, TempoMap

__all__ = ["Ringing", "ringing", "tempo_map", "velocity"]

VELOCITIES: dict[Role, int] = {"melody": 104, "lick": 92, "pinch": 80, "fill": 72, "drone": 66}
SLURRED = 20  # a slurred note is softer than a picked one by so much


@dataclass(frozen=True, slots=True)
class Ringing:
    """A pluck and how long its string is left alone.

    Attributes:
        start: where it is struck or slurred.
        until: where the same string is sounded again, or the solo ends.
        pluck: the pluck.
    """

    start: Fraction
    until: Fraction
    pluck: Pluck


def ringing(arrangement: Arrangement) -> Iterator[Ringing]:
    """The plucks of a solo, the last one first."""
    starts = arrangement.starts()
    last = sum((measure.length for measure in arrangement.measures), Fraction(0))
    following = dict.fromkeys(range(1, 6), last)
    for measure, pluck in reversed(list(arrangement.plucks())):
        start = starts[measure.number] + pluck.at
        yield Ringing(start, following[pluck.string], pluck)
        following[pluck.string] = start


def velocity(pluck: Pluck) -> int:
    """How strongly a pluck sounds, as a MIDI velocity, 1..127."""
    return VELOCITIES[pluck.role] - (SLURRED if pluck.technique != "pick" else 0)


def tempo_map(arrangement: Arrangement, tempo: float) -> TempoMap:
    """The bridge to heard time at a tempo, with the solo's own bounce: off-beats late within their pair of slots.

    Compound metres have no bounce, their beats are in threes.

    Args:
        arrangement: the solo; its first measure starts at 0 seconds.
        tempo: quarters a minute, > 0.
    """
    if any(measure.meter.compound for measure in arrangement.measures):
        return TempoMap(tempo, bounce=STRAIGHT)
    first = arrangement.measures[0]
    phase = first.length if first.number == 0 else Fraction(0)
    return TempoMap(tempo, bounce=arrangement.bounce, pair=2 * arrangement.slot, phase=phase)
