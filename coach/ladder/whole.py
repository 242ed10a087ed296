"""From measures to passes: how likely a pass is clean when it is known how likely each of its measures is.

A pass is clean when at most one in eight of its measures (rounded down) is not (contracts of the report). Measures are
taken to succeed or fail each for itself, which makes the number of those that fail a sum of unequal trials (the
Poisson binomial distribution); its distribution is found exactly, a measure at a time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

__all__ = ["clean_share", "fastest"]

MEASURES_A_FAULT = 8

SLOWEST, FASTEST = 15.0, 600.0


def clean_share(shares: Sequence[float]) -> float:
    """The probability that a pass is clean.

    Args:
        shares: for each of its measures the probability, 0..1, that it is clean.
    """
    allowed = len(shares) // MEASURES_A_FAULT
    failed = np.zeros(allowed + 1)  # how likely so many have failed; more than are allowed are not followed
    failed[0] = 1.0
    for share in shares:
        after = failed * share
        after[1:] += failed[:-1] * (1 - share)
        failed = after
    return float(failed.sum())


def fastest(share_at: Callable[[float], float], wanted: float) -> float:
    """The fastest tempo at which a share that falls with the tempo is still as wanted, to a thousandth of itself.

    Args:
        share_at: the share at a tempo, 0..1, never rising.
        wanted: 0..1.

    Returns:
        quarters a minute, 15..600; 15 where the share is below what is wanted everywhere.
    """
    low, high = math.log(SLOWEST), math.log(FASTEST)
    while high - low > 1e-3:
        middle = (low + high) / 2
        low, high = (middle, high) if share_at(math.exp(middle)) >= wanted else (low, middle)
    return math.exp(low)
