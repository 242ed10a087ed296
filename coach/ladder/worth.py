"""What is worth playing next: the whole or a trouble spot, whichever is expected to bring the goal soonest.

Model of learning
    A pass teaches a measure most where it is neither safe nor hopeless. For one who learns by small corrections from
    right and wrong alone what a trial teaches goes with ``x * p * (1 - p)``, where ``p`` is the share of clean ones
    at that tempo and ``x`` its log odds: nothing at one in two, most at 82 %, little where nothing goes wrong (R. C.
    Wilson et al. 2019, "The eighty five percent rule for optimal learning", Nat. Commun. 10, 4646, carried over to
    logistic noise, which is what the curves have). That hands on strings learn like this is a sensible wager, no more.
What a measure is worth
    The ready tempo of the whole follows that of its measures, each by its own weight; the weights add up to 1, and
    those measures have most of it that fail most often while their failing still matters.
Worth
    What a pass is expected to add to the logarithm of the ready tempo of the whole, over the minutes that it takes.

A spot is looped a few times at most before the whole comes again, and no more than two spots come between two wholes:
what is mixed and spaced is kept better than what is hammered (J. B. Shea & R. L. Morgan 1979, J. Exp. Psychol.: Hum.
Learn. Mem. 5, 179-187; N. J. Cepeda et al. 2006, Psychol. Bull. 132, 354-380; both from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coach.ladder.curve import LAPSE, READY, TEMPOS, Curve, Floats, expected_clean, shares
from coach.ladder.policies import LEARNS_BEST
from coach.ladder.spots import MOST_SPOTS, Spot, trouble_spots
from coach.ladder.whole import clean_shares, fastest, without_each

__all__ = ["LOOPS", "Practice", "best_practice", "teaches"]

LOOPS = 3
"""Passes through a spot before something else comes (common practice, no source)."""

COUNT_IN = 4.0  # quarters of the click before a pass, and the breath taken with it
BETTER = 1.15
"""A spot is chosen where it is worth so many times the whole: it takes a moment to turn to it."""

SAFE = 1e-12  # from 0 and from 1, where the log odds have no value
MOST_TAUGHT = 0.2239  # the maximum of x * p * (1 - p), at p = .824


@dataclass(frozen=True, slots=True)
class Practice:
    """What to play next.

    Attributes:
        tempo: of the click, in quarters a minute.
        worth: what a minute of it is expected to add to the logarithm of the ready tempo of the whole, where the best
            possible pass adds 1 to each measure, >= 0; to be compared, not to be told.
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
        floor, goal: no spot is played slower or faster than these.
        share: of clean passes wished for in a spot.
        repeats: as in :class:`~coach.ladder.rungs.Course`.
        lately: what was played in this sitting, in order: the numbers of the first and the last measure of a spot,
            lead-in included; None for all else. The whole comes first.
    """
    numbers = sorted(curves)
    places = [curves[number] for number in numbers]
    by_tempo = shares(places)
    weights = _weights(by_tempo)
    first_of = {number: (repeats or {}).get(number, number) for number in numbers}
    # Whoever betters a measure betters it wherever it stands.
    moves = np.array([weights[[first_of[other] == first_of[each] for other in numbers]].sum() for each in numbers])

    def practice(first: int, last: int, at: float, spot: Spot | None) -> Practice:
        inside = [index for index, number in enumerate(numbers) if first <= number <= last]
        taught = teaches([places[index] for index in inside], at)
        minutes = (sum(lengths[numbers[index]] for index in inside) + COUNT_IN) / at
        return Practice(at, float(moves[inside] @ taught) / minutes, spot)

    best = practice(numbers[0], numbers[-1], tempo, None)
    needed = BETTER * best.worth
    for spot in _due(trouble_spots(curves, goal, repeats), lately):
        inside = [index for index, number in enumerate(numbers) if spot.lead_in <= number <= spot.last]
        own = float(fastest(clean_shares(by_tempo[inside]), share))
        alone = practice(spot.lead_in, spot.last, max(floor, min(goal, own)), spot)
        if alone.worth > needed:
            best, needed = alone, alone.worth
    return best


def teaches(curves: Sequence[Curve], tempo: float) -> Floats:
    """What a pass at a tempo (quarters a minute, > 0) is expected to teach, where the best possible pass teaches 1.

    Args:
        curves: of the places that are played.

    Returns:
        shape (places,), 0..1.
    """
    return expected_clean(curves, tempo, _taught)


def _taught(clean: Floats) -> Floats:
    """What a pass teaches where so many are clean."""
    without_lapses = np.clip(clean / (1 - LAPSE), SAFE, 1 - SAFE)
    odds = np.log(without_lapses) - np.log1p(-without_lapses)
    taught: Floats = np.maximum(0.0, odds * without_lapses * (1 - without_lapses)) / MOST_TAUGHT
    return taught


def _weights(by_tempo: Floats) -> Floats:
    """How the logarithm of the ready tempo of the whole follows that of each measure: weights with the sum 1.

    Args:
        by_tempo: the shares of the measures at each of ``TEMPOS``, shape (measures, tempos).
    """
    ready = float(fastest(clean_shares(by_tempo), READY))
    at = int(np.clip(np.searchsorted(TEMPOS, ready), 1, len(TEMPOS) - 1))
    if_clean, if_not = without_each(by_tempo[:, at])
    matters = (if_clean - if_not) * (by_tempo[:, at - 1] - by_tempo[:, at] + SAFE)
    weights: Floats = matters / matters.sum()
    return weights


def _due(spots: Sequence[Spot], lately: Sequence[tuple[int, int] | None]) -> list[Spot]:
    """The spots that may be looped now: not before the whole was played, and after it a few times at most, two at
    most."""
    if None not in lately:
        return []
    behind = list(lately[len(lately) - list(reversed(lately)).index(None) :])
    kinds: list[list[set[int]]] = []  # the loops of each spot since the whole
    for loop in (_core(*each) for each in behind if each is not None):
        of_this = next((kind for kind in kinds if kind[0] & loop), None)
        if of_this is None:
            kinds.append([loop])
        else:
            of_this.append(loop)
    due = []
    for spot in spots:
        looped = next((kind for kind in kinds if kind[0] & set(range(spot.first, spot.last + 1))), [])
        if len(looped) < (LOOPS if looped or len(kinds) < MOST_SPOTS else 0):
            due.append(spot)
    return due


def _core(first: int, last: int) -> set[int]:
    """The measures of a loop without its lead-in."""
    return set(range(min(first + 1, last), last + 1))
