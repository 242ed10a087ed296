"""Tunes that the player can do, and when each fades.

A tune is kept up while a pass at its goal is clean four times in five. What is known of its measures tells for how many
days that will hold without practice (:mod:`~coach.ladder.curve` forgets), so a tune comes back when it is about to
fade, and each return puts the next one off: practice that is spaced out keeps better (N. J. Cepeda et al. 2006,
Psychol. Bull. 132, 354-380, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.polynomial.hermite_e import hermegauss

from coach.ladder.curve import DAY_LOSS, DAY_SPREAD, MOST_DAYS, READY, Curve, shares
from coach.ladder.standing import Standing
from coach.ladder.whole import clean_share

__all__ = ["Learned", "coming_back", "is_fading", "keeps"]

SOON = 3.0
"""Days ahead of its fading in which a tune is about to fade (common practice, no source)."""


# A mean over a normal distribution as a weighted sum at nine places (Gauss-Hermite quadrature).
_NODES, _WEIGHTS = hermegauss(9)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class Learned:
    """A tune that the player could play at its goal when it was last played.

    Attributes:
        tune: its id.
        tier: of its solo.
        goal: its tempo.
        day: of its last pass.
        keeps: for how many days from then on it is ready at its goal, > 0.
    """

    tune: str
    tier: str
    goal: float
    day: float
    keeps: float

    @staticmethod
    def of(standing: Standing) -> Learned | None:
        """What a standing tells of a tune; None where it could not be played at its goal."""
        if standing.day is None or standing.keeps <= 0:
            return None
        return Learned(standing.tune, standing.tier, standing.wishes.goal, standing.day, standing.keeps)

    @property
    def fades(self) -> float:
        """The day on which it fades."""
        return self.day + self.keeps


def keeps(curves: Mapping[int, Curve], goal: float) -> float:
    """For how many days without practice a solo stays ready at its goal.

    Args:
        curves: of its measures, as they are now.
        goal: in quarters a minute.

    Returns:
        days, to a quarter of one; 0 where it is not ready now, and no more than the curves foresee.
    """

    own = list(curves.values())

    def is_ready(days: float) -> bool:
        # To forget is to sink and to spread. At a tempo the share is then what it is now at faster ones, on the mean.
        logs = math.log(goal) + DAY_LOSS * days + DAY_SPREAD * math.sqrt(days) * _NODES
        return clean_share(shares(own, np.exp(logs)) @ _WEIGHTS) >= READY

    if not is_ready(0.0):
        return 0.0
    if is_ready(MOST_DAYS):
        return MOST_DAYS
    low, high = 0.0, MOST_DAYS
    while high - low > 0.25:
        middle = (low + high) / 2
        low, high = (middle, high) if is_ready(middle) else (low, middle)
    return low


def coming_back(tunes: Iterable[Learned]) -> tuple[Learned, ...]:
    """The order in which tunes come back: first what fades first."""
    return tuple(sorted(tunes, key=lambda each: (each.fades, each.tune)))


def is_fading(tune: Learned, day: float) -> bool:
    """Whether a tune is about to fade, or has faded."""
    return day >= tune.fades - SOON
