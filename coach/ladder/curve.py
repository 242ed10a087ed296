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
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "FASTEST",
    "LAPSE",
    "READY",
    "SLOWEST",
    "TEMPOS",
    "Curve",
    "Floats",
    "Ready",
    "after_days",
    "after_evidence",
    "after_pass",
    "begin",
    "begin_ready",
    "from_bytes",
    "ready",
    "share",
    "shares",
    "teaching",
    "to_bytes",
]

LAPSE = 0.02
READY = 0.8
"""The share of clean passes at which a tempo is ready."""

SLOWEST, FASTEST = 15.0, 600.0  # quarters a minute: the ends of the grid
POINTS = 120
SIGMAS = (0.04, 0.06, 0.09, 0.13, 0.19)
PRIOR_SPREAD = 0.35
PASS_GAIN = 0.015
PASS_SPREAD = 0.03
DAY_SPREAD = 0.02
DAY_LOSS = 0.004
MOST_DAYS = 60.0
SAFE = 1e-12  # from 0 and from 1, where log odds have no value
MOST_TAUGHT = 0.2239  # the maximum of x * p * (1 - p), at p = .824
MOST_AT_ONCE = 0.5  # of the variance of a walk on the grid, in steps: more in one go would leave gaps

Floats = NDArray[np.float64]

_THETAS: Floats = np.linspace(math.log(SLOWEST), math.log(FASTEST), POINTS)
_STEP = float(_THETAS[1] - _THETAS[0])
_SIGMAS: Floats = np.array(SIGMAS)
_BELOW: Floats = math.log(READY / (1 - LAPSE - READY)) * _SIGMAS
"""By how much the logarithm of the ready tempo lies below theta."""

TEMPOS: Floats = np.geomspace(SLOWEST, FASTEST, POINTS)
"""Tempos, in quarters a minute, for which :func:`shares` is wanted: one to a step of the grid."""

VERSION = 1
HALF = np.dtype("<f2")


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
    return _around(np.zeros(len(SIGMAS)), tempo, spread)


def begin_ready(tempo: float, spread: float = PRIOR_SPREAD) -> Curve:
    """What is thought before any pass where it is the ready tempo that is guessed; otherwise as :func:`begin`.

    Raises:
        ValueError: when a number is out of its range.
    """
    return _around(_BELOW, tempo, spread)


def after_pass(curve: Curve, tempo: float, *, clean: bool) -> Curve:
    """What is known after a pass at a tempo (quarters a minute, > 0)."""
    (after,) = after_evidence([curve], tempo, [(1.0, 0.0) if clean else (0.0, 1.0)])
    return after


def after_evidence(curves: Sequence[Curve], tempo: float, evidence: Sequence[tuple[float, float]]) -> tuple[Curve, ...]:
    """What is known of several places after a pass through all of them.

    Args:
        curves: of the places.
        tempo: of the pass, in quarters a minute, > 0.
        evidence: for each place how likely what was seen is if it came clean, and how likely if it did not; 0..1, not
            both 0. ``(1, 0)`` where it was seen to be clean.
    """
    if not curves:
        return ()
    likely = _clean(tempo)
    if_clean, if_not = (np.array(each)[:, None, None] for each in zip(*evidence, strict=True))
    weights = np.stack([curve.weights for curve in curves]) * (if_not + (if_clean - if_not) * likely)
    moved = _normal(_spread(_bettered(weights, _taught(likely)), PASS_SPREAD))
    return tuple(Curve(each, curve.passes + 1) for each, curve in zip(moved, curves, strict=True))


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


def shares(curves: Sequence[Curve], tempos: Floats = TEMPOS) -> Floats:
    """The shares of clean passes that are to be expected of several places at several tempos.

    Returns:
        shape (places, tempos), 0..1, falling along the second axis where the tempos rise.
    """
    table = _AT_TEMPOS if tempos is TEMPOS else _table(tempos)
    # No product of matrices: BLAS splits it among threads, which takes longer on a machine that is busy, and its last
    # digits are the machine's.
    found: Floats = np.einsum("ij,jk->ik", _stacked(curves), table)
    return found


def teaching(curves: Sequence[Curve]) -> Floats:
    """What a pass at each of :data:`TEMPOS` is expected to teach in several places, where the best possible one
    teaches 1.

    Returns:
        shape (places, tempos), 0..1.
    """
    found: Floats = np.einsum("ij,jk->ik", _stacked(curves), _TAUGHT_AT_TEMPOS)
    return found


def ready(curve: Curve) -> Ready:
    """The ready tempo and its interval."""
    # Each grid point stands for a cell one step wide, so its quantiles are those of a density, not of a comb.
    reached = np.cumsum(curve.weights.ravel()[_ORDER])
    low, middle, high = np.interp((0.05, 0.5, 0.95), reached, _READY_PLACES).tolist()
    return Ready(math.exp(middle), math.exp(low), math.exp(high))


def to_bytes(curve: Curve) -> bytes:
    """A curve as bytes: the number of this form, 1, then the weights beside the greatest of them.

    The weights go row by row, each as a binary16 number, lowest byte first (IEEE 754-2019, 3.6): three digits, and
    what is below a ten-millionth of the greatest is nothing.
    """
    beside: NDArray[np.float16] = (curve.weights / curve.weights.max()).astype(HALF)
    return bytes([VERSION]) + beside.tobytes()


def from_bytes(data: bytes, passes: int) -> Curve:
    """The curve that :func:`to_bytes` gave, which rests on some passes.

    Raises:
        ValueError: when it is none.
    """
    size = POINTS * len(SIGMAS) * HALF.itemsize
    if len(data) != 1 + size or data[0] != VERSION:
        raise ValueError(f"these {len(data)} bytes are no curve of form {VERSION}, which has {1 + size}")
    weights = np.frombuffer(data, HALF, offset=1).astype(np.float64).reshape(POINTS, len(SIGMAS))
    if not (np.isfinite(weights).all() and (weights >= 0).all() and weights.max() > 0):
        raise ValueError("these bytes are no curve: a weight is below 0 or no number, or all are 0")
    if passes < 0:
        raise ValueError(f"a curve rests on no fewer than 0 passes, got {passes!r}")
    return Curve(_normal(weights), passes)


def _around(below: Floats, tempo: float, spread: float) -> Curve:
    """Weights that are normal about a tempo, for each sigma so much below theta."""
    if not SLOWEST <= tempo <= FASTEST:
        raise ValueError(f"a tempo must be in range {SLOWEST}..{FASTEST}, got {tempo!r}")
    if not 0 < spread < math.inf:
        raise ValueError(f"a spread must be above 0, got {spread!r}")
    away = _THETAS[:, None] - below[None, :] - math.log(tempo)
    return Curve(_normal(np.exp(-0.5 * (away / spread) ** 2)))


def _stacked(curves: Sequence[Curve]) -> Floats:
    return np.array([curve.weights for curve in curves]).reshape(len(curves), -1)


def _clean(tempo: float) -> Floats:
    """The share of clean passes at a tempo for each point of the grid."""
    shares: Floats = (1 - LAPSE) / (1 + np.exp((math.log(tempo) - _THETAS[:, None]) / _SIGMAS[None, :]))
    return shares


def _table(tempos: Floats) -> Floats:
    """The share of clean passes for each point of the grid, by tempo: shape (points of the grid, tempos)."""
    table: Floats = (1 - LAPSE) / (
        1 + np.exp((np.log(tempos)[None, None, :] - _THETAS[:, None, None]) / _SIGMAS[None, :, None])
    )
    return table.reshape(POINTS * len(SIGMAS), -1)


def _taught(clean: Floats) -> Floats:
    """What a pass teaches where so large a share of passes is clean, 0..1, the best possible one 1."""
    safe = np.clip(clean / (1 - LAPSE), SAFE, 1 - SAFE)
    odds = np.log(safe) - np.log1p(-safe)
    taught: Floats = np.maximum(0.0, odds * safe * (1 - safe)) / MOST_TAUGHT
    return taught


_AT_TEMPOS = _table(TEMPOS)
_TAUGHT_AT_TEMPOS = _taught(_AT_TEMPOS)
_READY_AT = _THETAS[:, None] - _BELOW[None, :]
_ORDER = np.argsort(_READY_AT, axis=None)
_READY_PLACES: Floats = _READY_AT.ravel()[_ORDER]


def _normal(weights: Floats) -> Floats:
    """Weights with the sum 1, along the last two axes."""
    normal: Floats = weights / weights.sum(axis=(-2, -1), keepdims=True)
    return normal


def _moved(weights: Floats, by: float) -> Floats:
    """The weights after theta has moved by a step; what would leave the grid is lost."""
    whole, part = divmod(by / _STEP, 1)
    return (1 - part) * _shifted(weights, int(whole)) + part * _shifted(weights, int(whole) + 1)


def _bettered(weights: Floats, part: Floats) -> Floats:
    """The weights after theta has risen by a part of :data:`PASS_GAIN`, another one at each point of the grid."""
    moving = weights * part * (PASS_GAIN / _STEP)
    moved = weights - moving
    moved[..., 1:, :] += moving[..., :-1, :]
    return moved


def _shifted(weights: Floats, count: int) -> Floats:
    """The weights some points further up the grid; what leaves it is lost."""
    moved = np.zeros_like(weights)
    if count > 0:
        moved[..., count:, :] = weights[..., :-count, :]
    elif count < 0:
        moved[..., :count, :] = weights[..., -count:, :]
    else:
        moved[...] = weights
    return moved


def _spread(weights: Floats, by: float) -> Floats:
    """The weights after theta has wandered by a random step with this standard deviation; what would leave the grid
    stays at its end."""
    variance = (by / _STEP) ** 2
    times = max(1, math.ceil(variance / MOST_AT_ONCE))
    side = variance / times / 2
    for _ in range(times):
        spread = (1 - 2 * side) * weights
        spread[..., 1:, :] += side * weights[..., :-1, :]
        spread[..., :-1, :] += side * weights[..., 1:, :]
        spread[..., :1, :] += side * weights[..., :1, :]
        spread[..., -1:, :] += side * weights[..., -1:, :]
        weights = spread
    return weights
