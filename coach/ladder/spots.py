"""Trouble spots: the one or two measures that keep the whole from its goal.

A spot is practised alone, with a measure of lead-in, at its own tempo, and is then put back into the whole. How far a
measure still has to go is told by the tempo at which it comes clean as often as it must for the whole to be ready.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate

import numpy as np

from coach.ladder.curve import READY, Curve, Floats, shares
from coach.ladder.whole import clean_shares, fastest

__all__ = ["LONGEST", "Spot", "possible_spots", "ready_whole", "way_to_goal"]

LONGEST = 2  # measures, without the lead-in

POSSIBLE: Floats = np.linspace(0, 1, 1001)


@dataclass(frozen=True, slots=True)
class Spot:
    """Measures to be practised alone.

    Attributes:
        first, last: their numbers.
        lead_in: the number of the measure that is played before them; the first itself where there is none.
        tempo: at which as many passes through them, lead-in included, are clean as was wished, in quarters a minute.
    """

    first: int
    last: int
    lead_in: int
    tempo: float


def ready_whole(curves: Mapping[int, Curve]) -> float:
    """The ready tempo of a whole solo, in quarters a minute.

    Args:
        curves: of its measures, by their numbers; at least one.
    """
    return float(fastest(clean_shares(shares(list(curves.values()))), READY))


def possible_spots(numbers: Sequence[int], by_tempo: Floats, share: float) -> list[Spot]:
    """Each measure, and each two neighbours, with a measure of lead-in; but none that would be the whole solo.

    Args:
        numbers: of all measures of the solo, in order.
        by_tempo: their shares at each of ``TEMPOS``, shape (measures, tempos).
        share: of clean passes wished for, 0..1.
    """
    spans = [
        (max(0, first - 1), first, first + length)
        for length in range(1, LONGEST + 1)
        for first in range(len(numbers) - length + 1)
    ]
    spans = [span for span in spans if span[2] - span[0] < len(numbers)]
    if not spans:
        return []
    # So few measures are clean only if each of them is.
    logs = np.array(list(accumulate(np.log(by_tempo), initial=np.zeros(by_tempo.shape[1]))))
    together = np.exp(np.stack([logs[end] - logs[lead_in] for lead_in, _, end in spans]))
    return [
        Spot(numbers[first], numbers[end - 1], numbers[lead_in], tempo)
        for (lead_in, first, end), tempo in zip(spans, fastest(together, share).tolist(), strict=True)
    ]


def way_to_goal(by_tempo: Floats, goal: float) -> Floats:
    """How far each measure still has to go.

    Args:
        by_tempo: the shares of all measures of a solo at each of ``TEMPOS``, shape (measures, tempos).
        goal: the tempo that is wished, in quarters a minute, > 0.

    Returns:
        by how much the logarithm of the tempo at which it would do its part in a whole that is ready has to rise; 0
        where it does so at the goal; shape (measures,).
    """
    own = fastest(by_tempo, _part(len(by_tempo)))
    ways: Floats = np.maximum(0.0, np.log(goal / own))
    return ways


@lru_cache(maxsize=64)
def _part(measures: int) -> float:
    """The share of clean ones with which each of so many measures does its part: if all have it, the whole is ready."""
    wholes = clean_shares(np.repeat(POSSIBLE[None, :], measures, axis=0))
    return float(np.interp(READY, wholes, POSSIBLE))
