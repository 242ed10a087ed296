"""What is worth playing next: the whole or a trouble spot, whichever is expected to bring the goal soonest.

What a pass teaches
    Most where a measure is neither safe nor hopeless (:func:`coach.ladder.curve.teaching`).
What a measure is worth
    The goal is reached when the last measure has come up to it, so those that have furthest to go weigh most: by the
    square of their way (:func:`coach.ladder.spots.way_to_goal`).
Worth
    What a pass is expected to teach, each measure by its weight, over the minutes that it takes.

A spot is looped a few times at most before the whole comes again, and no more than two spots come between two wholes:
what is mixed and spaced is kept better than what is hammered (J. B. Shea & R. L. Morgan 1979, J. Exp. Psychol.: Hum.
Learn. Mem. 5, 179-187; N. J. Cepeda et al. 2006, Psychol. Bull. 132, 354-380; both from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coach.ladder.curve import TEMPOS, Curve, Floats, shares, teaching
from coach.ladder.policies import LEARNS_BEST, MOST_UP
from coach.ladder.spots import Spot, possible_spots, way_to_goal

__all__ = ["LOOPS", "MOST_SPOTS", "Practice", "best_practice"]

LOOPS = 3
"""Passes through a spot before something else comes (common practice, no source)."""

MOST_SPOTS = 2
"""Spots between two wholes."""

COUNT_IN = 4.0  # quarters of the click before a pass
BETTER = 1.3
"""A spot is chosen where it is worth so many times the whole: it takes a moment to turn to it."""


@dataclass(frozen=True, slots=True)
class Practice:
    """What to play next.

    Attributes:
        tempo: of the click, in quarters a minute.
        worth: what a minute of it is expected to teach, >= 0: 1 where each measure would be taught as much as can be in
            a minute; to be compared, not to be told.
        spot: the trouble spot; None for the whole.
    """

    tempo: float
    worth: float
    spot: Spot | None = None


def best_practice(
    curves: Mapping[int, Curve],
    lengths: Mapping[int, float],
    *,
    tempo: float,
    floor: float,
    goal: float,
    share: float = LEARNS_BEST,
    repeats: Mapping[int, int] | None = None,
    lately: Sequence[tuple[int, int] | None] = (),
) -> Practice:
    """What is expected to bring the goal soonest: the whole at its tempo, or a trouble spot at its own.

    Args:
        curves: of all measures of the solo, by their numbers (:func:`coach.ladder.known.curves`).
        lengths: of these measures, in quarters, > 0.
        tempo: at which the whole is to be played, by the policy.
        floor, goal: no spot is played slower or faster than these, nor much faster than the whole.
        share: of clean passes wished for in a spot, 0..1.
        repeats: as in :class:`~coach.ladder.rungs.Course`: such measures are one spot wherever they stand.
        lately: what was played in this sitting, in order: the numbers of the first and the last measure of a spot,
            lead-in included; None for all else. The whole comes first.
    """
    numbers = sorted(curves)
    places = [curves[number] for number in numbers]
    by_tempo, taught = shares(places), teaching(places)
    ways = way_to_goal(by_tempo, goal) ** 2
    weights = ways / (ways.sum() or 1.0)
    quarters = np.array([lengths[number] for number in numbers])

    def worth(first: int, last: int, at: float, lead_in: int) -> float:
        """Of a pass; what is played to lead in takes time, but is not what it is for."""
        played, meant = (slice(numbers.index(each), numbers.index(last) + 1) for each in (lead_in, first))
        minutes = (float(quarters[played].sum()) + COUNT_IN) / at
        return float(weights[meant] @ _at(taught[meant], at)) / minutes

    whole = Practice(tempo, worth(numbers[0], numbers[-1], tempo, numbers[0]))
    if None not in lately:
        return whole
    first_of = {number: (repeats or {}).get(number, number) for number in numbers}
    best, needed = whole, BETTER * whole.worth
    for spot in possible_spots(numbers, by_tempo, share):
        at = max(floor, min(goal, spot.tempo, tempo * MOST_UP))
        alone = Practice(at, worth(spot.first, spot.last, at, spot.lead_in), spot)
        if alone.worth > needed and _is_due(spot, lately, first_of):
            best, needed = alone, alone.worth
    return best


def _at(taught: Floats, tempo: float) -> Floats:
    """Of what a pass teaches at each of ``TEMPOS`` that at some tempo: shape (measures,)."""
    place = float(np.interp(tempo, TEMPOS, np.arange(len(TEMPOS))))
    before = min(int(place), len(TEMPOS) - 2)
    found: Floats = taught[:, before] + (place - before) * (taught[:, before + 1] - taught[:, before])
    return found


def _is_due(spot: Spot, lately: Sequence[tuple[int, int] | None], first_of: Mapping[int, int]) -> bool:
    """Whether a spot may be looped: after the whole a few times at most, and no more than two spots."""
    behind = lately[len(lately) - list(reversed(lately)).index(None) :]
    kinds: list[list[set[int]]] = []  # the loops of each spot since the whole
    for first, last in (each for each in behind if each is not None):
        # The lead-in was not what it was looped for.
        loop = {first_of.get(number, number) for number in range(min(first + 1, last), last + 1)}
        alike = next((kind for kind in kinds if kind[0] & loop), None)
        if alike is None:
            kinds.append([loop])
        else:
            alike.append(loop)
    measures = {first_of.get(number, number) for number in range(spot.first, spot.last + 1)}
    alike = next((kind for kind in kinds if kind[0] & measures), None)
    return len(kinds) < MOST_SPOTS if alike is None else len(alike) < LOOPS
