"""From measures to passes: how likely a pass is clean when it is known how likely each of its measures is.

A pass is clean when at most one in eight of its measures (rounded down) is not (contracts of the report). Measures are
taken to succeed or fail each for itself, which makes the number of those that fail a sum of unequal trials (the
Poisson binomial distribution); its distribution is found exactly, a measure at a time.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from coach.ladder.curve import TEMPOS, Floats

__all__ = ["clean_share", "clean_shares", "fastest", "without_each"]

MEASURES_A_FAULT = 8
SAFE = 1e-12  # from 0 and from 1, where log odds have no value

_LOGS: Floats = np.log(TEMPOS)


def clean_share(shares: Sequence[float] | Floats) -> float:
    """The probability that a pass is clean.

    Args:
        shares: for each of its measures the probability, 0..1, that it is clean.
    """
    return float(clean_shares(np.asarray(shares, dtype=np.float64)[:, None])[0])


def clean_shares(shares: Floats) -> Floats:
    """The probabilities that a pass is clean at several tempos.

    Args:
        shares: the probabilities that each of its measures is clean, shape (measures, tempos).

    Returns:
        shape (tempos,).
    """
    found: Floats = _failed(shares, len(shares) // MEASURES_A_FAULT).sum(axis=0)
    return found


def without_each(shares: Floats) -> tuple[Floats, Floats]:
    """How likely a pass is clean if it is known of one measure how it came.

    Args:
        shares: for each measure the probability, 0..1, that it is clean.

    Returns:
        for each measure how likely the pass is clean if that measure is, and how likely if it is not; each of the
        shape (measures,).
    """
    allowed = len(shares) // MEASURES_A_FAULT
    others = np.repeat(shares[:, None], len(shares), axis=1)
    np.fill_diagonal(others, 1.0)
    failed = _failed(others, allowed)
    return failed.sum(axis=0), failed[:allowed].sum(axis=0)


def _failed(shares: Floats, most: int) -> Floats:
    """How likely so many measures have failed, from none to the most that are of interest: shape (most + 1, ...)."""
    failed = np.zeros((most + 1, *shares.shape[1:]))
    failed[0] = 1.0
    for share in shares:
        after = failed * share
        after[1:] += failed[:-1] * (1 - share)
        failed = after
    return failed


def fastest(shares: Floats, wanted: float) -> Floats:
    """The fastest tempos at which shares that fall with the tempo are still as wanted.

    Args:
        shares: at each of ``TEMPOS``, never rising, shape (..., tempos).
        wanted: 0..1.

    Returns:
        quarters a minute, between the ends of ``TEMPOS``, shape (...); the slowest where the share is below what is
        wanted everywhere. Between two of ``TEMPOS`` the log odds of the share are taken to fall evenly along the
        logarithm of the tempo.
    """
    enough = (shares >= wanted).sum(axis=-1, keepdims=True)
    before, behind = np.clip(enough - 1, 0, None), np.clip(enough, None, len(TEMPOS) - 1)
    high, low = (_log_odds(np.take_along_axis(shares, each, -1)) for each in (before, behind))
    fall = high - low
    part = np.clip(np.divide(high - _log_odds(np.float64(wanted)), fall, out=np.zeros_like(fall), where=fall > 0), 0, 1)
    places = (1 - part) * _LOGS[before] + part * _LOGS[behind]
    tempos: Floats = np.exp(places[..., 0])
    return tempos


def _log_odds(shares: Floats | np.float64) -> Floats:
    safe = np.clip(shares, SAFE, 1 - SAFE)
    odds: Floats = np.log(safe) - np.log1p(-safe)
    return odds
