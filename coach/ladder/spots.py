"""Trouble spots: the one or two measures that hold the tempo of the whole back.

A measure holds the tempo back by as much as the ready tempo of the whole would rise if that measure always came clean.
A spot is practised alone, with a measure of lead-in, at its own tempo, and is then put back into the whole.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from coach.ladder.curve import READY, Curve, share
from coach.ladder.whole import clean_share, fastest

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
    return fastest(lambda tempo: _pass_share(curves, tempo, perfect), READY)


def trouble_spots(curves: Mapping[int, Curve], goal: float) -> tuple[Spot, ...]:
    """The spots of a solo, the one that holds back most first; none where the whole is ready at its goal.

    Args:
        curves: of all its measures, by their numbers.
        goal: the tempo that is wished, in quarters a minute, > 0.
    """
    whole = ready_whole(curves)
    if whole >= goal or len(curves) < 2:
        return ()
    numbers = sorted(curves)
    # What lies beyond the goal is no gain.
    gains = {number: min(goal, ready_whole(curves, [number])) / whole for number in numbers}
    found: list[Spot] = []
    taken: set[int] = set()
    for number in sorted(numbers, key=lambda number: (-gains[number], number)):
        if gains[number] < HOLDS_BACK or len(found) == MOST_SPOTS:
            break
        if number in taken:
            continue
        first, last = _with_neighbour(number, numbers, gains, taken)
        taken |= set(range(first, last + 1))
        before = [each for each in numbers if each < first]
        inside = {each: curves[each] for each in numbers if first <= each <= last}
        gain = min(goal, ready_whole(curves, sorted(inside))) / whole
        found.append(Spot(first, last, before[-1] if before else first, min(goal, ready_whole(inside)), gain))
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


def _pass_share(curves: Mapping[int, Curve], tempo: float, perfect: Sequence[int]) -> float:
    return clean_share([1.0 if number in perfect else share(curve, tempo) for number, curve in curves.items()])
