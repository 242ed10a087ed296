"""Trouble spots: the one or two measures that hold the tempo of the whole back.

A measure holds the tempo back by as much as the ready tempo of the whole would rise if that measure always came clean.
A spot is practised alone, with a measure of lead-in, at its own tempo, and is then put back into the whole.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coach.ladder.curve import READY, Curve, Floats, shares
from coach.ladder.whole import clean_shares, fastest

__all__ = ["Spot", "ready_whole", "trouble_spots"]

HOLDS_BACK = 1.04
"""A spot is worth a loop where the whole would be ready this much faster without it: one step of the ladder."""

MOST_SPOTS = 2


@dataclass(frozen=True, slots=True)
class Spot:
    """Measures to be practised alone.

    Attributes:
        first, last: their numbers.
        lead_in: the number of the measure that is played before them; the first itself where there is none.
        tempo: at which they are ready by themselves, in quarters a minute.
        gain: by what ratio the whole would be ready faster without them, > 1.
    """

    first: int
    last: int
    lead_in: int
    tempo: float
    gain: float


def ready_whole(curves: Mapping[int, Curve], perfect: Sequence[int] = ()) -> float:
    """The ready tempo of a whole solo, in quarters a minute.

    Args:
        curves: of its measures, by their numbers.
        perfect: measures that are taken to come clean always.
    """
    return _ready_without(shares(list(curves.values())), [[number in perfect for number in curves]])[0]


def trouble_spots(
    curves: Mapping[int, Curve], goal: float, repeats: Mapping[int, int] | None = None
) -> tuple[Spot, ...]:
    """The spots of a solo, the one that holds back most first; none where the whole is ready at its goal.

    Args:
        curves: of all its measures, by their numbers.
        goal: the tempo that is wished, in quarters a minute, > 0.
        repeats: as in :class:`~coach.ladder.rungs.Course`: what is practised once is better in all its places.
    """
    numbers = sorted(curves)
    by_tempo = shares([curves[number] for number in numbers])
    (whole,) = _ready_without(by_tempo, [[False] * len(numbers)])
    if whole >= goal or len(numbers) < 2:
        return ()
    first_of = {number: (repeats or {}).get(number, number) for number in numbers}

    def gains_without(*places: Sequence[int]) -> list[float]:
        """By what ratios the whole would be ready faster if some measures came clean wherever they stand."""
        originals = [{first_of[number] for number in each} for each in places]
        perfect = [[first_of[number] in each for number in numbers] for each in originals]
        # What lies beyond the goal is no gain.
        return [min(goal, ready) / whole for ready in _ready_without(by_tempo, perfect)]

    gains = dict(zip(numbers, gains_without(*([number] for number in numbers)), strict=True))
    found: list[Spot] = []
    taken: set[int] = set()
    for number in sorted(numbers, key=lambda number: (-gains[number], number)):
        if gains[number] < HOLDS_BACK or len(found) == MOST_SPOTS:
            break
        if first_of[number] in taken:
            continue
        first, last = _with_neighbour(number, numbers, gains, {each for each in numbers if first_of[each] in taken})
        inside = [each for each in numbers if first <= each <= last]
        taken |= {first_of[each] for each in inside}
        before = [each for each in numbers if each < first]
        tempo = min(goal, ready_whole({each: curves[each] for each in inside}))
        (gain,) = gains_without(inside)
        found.append(Spot(first, last, before[-1] if before else first, tempo, gain))
    return tuple(found)


def _with_neighbour(
    number: int, numbers: Sequence[int], gains: Mapping[int, float], taken: set[int]
) -> tuple[int, int]:
    """A measure, together with a neighbour that holds back too."""
    at = numbers.index(number)
    beside = [
        numbers[other]
        for other in (at - 1, at + 1)
        if 0 <= other < len(numbers) and numbers[other] not in taken and gains[numbers[other]] >= HOLDS_BACK
    ]
    if not beside:
        return number, number
    neighbour = max(beside, key=lambda each: (gains[each], -each))
    return min(number, neighbour), max(number, neighbour)


def _ready_without(by_tempo: Floats, perfect: Sequence[Sequence[bool]]) -> list[float]:
    """The ready tempo of the whole for each choice of measures that are taken to come clean always.

    Args:
        by_tempo: the shares of its measures, shape (measures, tempos).
        perfect: for each choice whether each measure is.
    """
    chosen = np.array(perfect).T[:, :, None]
    each = np.where(chosen, 1.0, by_tempo[:, None, :])
    wholes = clean_shares(each.reshape(len(by_tempo), -1)).reshape(each.shape[1:])
    tempos: list[float] = fastest(wholes, READY).tolist()
    return tempos
