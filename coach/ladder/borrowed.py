"""What may be expected of a measure that was never played, from its difficulty and from what the player does elsewhere.

Model
    The logarithm of a player's ready tempo falls along a line with the difficulty index; measures of one difficulty
    differ by :data:`ALIKE` around it. Before any pass the line is one that most players lie near: at an index of
    :data:`MIDDLE` about :data:`USUAL` quarters a minute, give or take :data:`USUAL_SPREAD` of the logarithm, and by
    :data:`SLOPE` for each whole index more, give or take :data:`SLOPE_SPREAD`. Each measure that was played tells of
    the line as much as its interval allows. That is Bayesian linear regression with known spreads (A. Gelman et al.
    2013, Bayesian Data Analysis, 3rd ed., ch. 14, from memory). The numbers are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from coach.ladder.curve import FASTEST, SLOWEST, Ready

__all__ = ["expected"]

MIDDLE = 2.0
USUAL, USUAL_SPREAD = 75.0, 0.35
SLOPE, SLOPE_SPREAD = -0.3, 0.2
ALIKE = 0.15
NINE_IN_TEN = 2 * 1.6449  # standard deviations across the interval of a Ready


def expected(difficulty: float, seen: Sequence[tuple[float, Ready]]) -> tuple[float, float]:
    """What is thought of a measure before it is played.

    Args:
        difficulty: its index, >= 0.
        seen: of measures that were played their index and ready tempo.

    Returns:
        the ready tempo in quarters a minute, 15..600, and the standard deviation of its logarithm, > 0.
    """
    precision = np.diag([USUAL_SPREAD**-2, SLOPE_SPREAD**-2])
    pull = precision @ np.array([math.log(USUAL), SLOPE])
    for index, ready in seen:
        row = np.array([1.0, index - MIDDLE])
        trust = 1 / (ALIKE**2 + (math.log(ready.high / ready.low) / NINE_IN_TEN) ** 2)
        precision += trust * np.outer(row, row)
        pull += trust * math.log(ready.tempo) * row
    covariance = np.linalg.inv(precision)
    here = np.array([1.0, difficulty - MIDDLE])
    tempo = math.exp(float(here @ covariance @ pull))
    spread = math.sqrt(ALIKE**2 + float(here @ covariance @ here))
    return max(SLOWEST, min(FASTEST, tempo)), spread
