"""What a player can do in one place of a solo: the share of clean passes as a function of tempo.

The curve
    ``share(tempo) = (1 - LAPSE) / (1 + exp(-(theta - ln(tempo)) / sigma))``: a logistic psychometric function on the
    logarithm of the tempo, falling, since faster is harder. ``theta`` is the logarithm of the tempo at which a pass
    without a lapse is clean as often as not, ``sigma`` how gently the curve falls, and ``LAPSE`` the share of passes
    that go wrong at any tempo (form and lapse after F. A. Wichmann & N. J. Hill 2001, Percept. Psychophys. 63(8)
    1293-1313, from memory).
What is known of it
    The posterior of ``theta`` and ``sigma`` on a grid, multiplied by the likelihood of each pass (the method of L. L.
    Kontsevich & C. W. Tyler 1999, Vision Res. 39, 2729-2737, from memory). Which tempos were played, and why, does not
    enter: the likelihood is the same for any rule that chose them.
Change
    A pass teaches something and a day takes something away, so after each pass ``theta`` is let rise and spread
    (:data:`PASS_GAIN`, :data:`PASS_SPREAD`), and for each day without practice it is let sink and spread
    (:data:`DAY_LOSS`, :data:`DAY_SPREAD`, up to :data:`MOST_DAYS`). Numbers of our own (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LAPSE", "READY", "Curve", "Ready", "after_days", "after_pass", "begin", "ready", "share"]

LAPSE = 0.02
READY = 0.8
"""The share of clean passes at which a tempo is ready."""

SLOWEST, FASTEST = 15.0, 600.0  # quarters a minute: the ends of the grid
POINTS = 120
SIGMAS = (0.04, 0.06, 0.09, 0.13, 0.19)
PRIOR_SPREAD = 0.35
PASS_GAIN = 0.01
PASS_SPREAD = 0.03
DAY_SPREAD = 0.02
DAY_LOSS = 0.004
MOST_DAYS = 60.0
MOST_AT_ONCE = 0.5  # of the variance of a walk on the grid, in steps: more in one go would leave gaps

Floats = NDArray[np.float64]

_THETAS: Floats = np.linspace(math.log(SLOWEST), math.log(FASTEST), POINTS)
_STEP = float(_THETAS[1] - _THETAS[0])
_SIGMAS: Floats = np.array(SIGMAS)


@dataclass(frozen=True, slots=True)
class Curve:
    """What is known of a player at one place.

    Attributes:
        weights: the posterior on the grid, shape (POINTS, len(SIGMAS)), >= 0, sum 1; not to be written to.
        passes: how many passes it rests on.
    """

    weights: Floats
    passes: int = 0


@dataclass(frozen=True, slots=True)
class Ready:
    """The tempo at which four passes in five are clean.

    Attributes:
        tempo: its median, in quarters a minute.
        low, high: the ends of the interval that holds it with a probability of 0.9, equal tails.
    """

    tempo: float
    low: float
    high: float


def begin(tempo: float, spread: float = PRIOR_SPREAD) -> Curve:
    """What is thought before any pass.

    Args:
        tempo: the tempo, in quarters a minute, at which about half of the passes may be clean; from the difficulty of
            the place and from what the player does elsewhere.
        spread: how unsure that is: the standard deviation of its logarithm, > 0.

    Raises:
        ValueError: when a number is out of its range.
    """
    if not SLOWEST <= tempo <= FASTEST:
        raise ValueError(f"a tempo must be in range {SLOWEST}..{FASTEST}, got {tempo!r}")
    if not 0 < spread < math.inf:
        raise ValueError(f"a spread must be above 0, got {spread!r}")
    column = np.exp(-0.5 * ((_THETAS - math.log(tempo)) / spread) ** 2)
    return Curve(_normal(np.repeat(column[:, None], len(SIGMAS), axis=1)))


def after_pass(curve: Curve, tempo: float, *, clean: bool) -> Curve:
    """What is known after a pass at a tempo (quarters a minute, > 0)."""
    likely = _clean(tempo)
    weights = curve.weights * (likely if clean else 1 - likely)
    return Curve(_normal(_spread(_moved(weights, PASS_GAIN), PASS_SPREAD)), curve.passes + 1)


def after_days(curve: Curve, days: float) -> Curve:
    """What is known after some days (>= 0) without a pass here: less, and a little less well played."""
    days = min(days, MOST_DAYS)
    if days <= 0:
        return curve
    sunk = _moved(curve.weights, -DAY_LOSS * days)
    return Curve(_normal(_spread(sunk, DAY_SPREAD * math.sqrt(days))), curve.passes)


def share(curve: Curve, tempo: float) -> float:
    """The share of clean passes that is to be expected at a tempo (quarters a minute, > 0), 0..1."""
    return float((curve.weights * _clean(tempo)).sum())


def ready(curve: Curve) -> Ready:
    """The ready tempo and its interval."""
    odds = READY / (1 - LAPSE - READY)
    tempos = _THETAS[:, None] - math.log(odds) * _SIGMAS[None, :]
    order = np.argsort(tempos, axis=None)
    # Each grid point stands for a cell one step wide, so its quantiles are those of a density, not of a comb.
    places = tempos.ravel()[order]
    reached = np.cumsum(curve.weights.ravel()[order])
    low, middle, high = (float(np.interp(p, reached, places)) for p in (0.05, 0.5, 0.95))
    return Ready(math.exp(middle), math.exp(low), math.exp(high))


def _clean(tempo: float) -> Floats:
    """The share of clean passes at a tempo for each point of the grid."""
    shares: Floats = (1 - LAPSE) / (1 + np.exp((math.log(tempo) - _THETAS[:, None]) / _SIGMAS[None, :]))
    return shares


def _normal(weights: Floats) -> Floats:
    total: float = weights.sum()
    return weights / total


def _moved(weights: Floats, by: float) -> Floats:
    """The weights after theta has moved by a step; what would leave the grid is lost."""
    whole, part = divmod(by / _STEP, 1)
    near, far = (np.roll(weights, int(whole) + more, axis=0) for more in (0, 1))
    for rolled, count in ((near, int(whole)), (far, int(whole) + 1)):
        if count > 0:
            rolled[:count] = 0
        elif count < 0:
            rolled[count:] = 0
    return (1 - part) * near + part * far


def _spread(weights: Floats, by: float) -> Floats:
    """The weights after theta has wandered by a random step with this standard deviation; what would leave the grid
    stays at its end."""
    variance = (by / _STEP) ** 2
    times = max(1, math.ceil(variance / MOST_AT_ONCE))
    side = variance / times / 2
    for _ in range(times):
        above, below = np.vstack([weights[1:], weights[-1:]]), np.vstack([weights[:1], weights[:-1]])
        weights = (1 - 2 * side) * weights + side * (above + below)
    return weights
