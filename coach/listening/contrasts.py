"""Contrasts: how much later some notes come than the others, all causes weighed at once, with how sure that is.

A robust linear regression (Huber 1964, Ann. Math. Stat. 35, 73-101; its constant 1.345 from memory) of offsets on
columns that tell which notes a cause touches, by how much. Every block of notes has a mean of its own, so neither the
player's lean nor a slow wander of the time is laid at the door of a cause. Causes that always come together share no
evidence, and what cannot be told apart gets a large error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

__all__ = ["Contrast", "Weighed", "weigh"]

TUNING = 1.345
ROUNDS = 8
_TO_DEVIATION = 1.4826  # of a normal distribution, from its median absolute deviation

Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Contrast:
    """What one cause does.

    Attributes:
        effect: for each unit of its column; in the unit of the values.
        error: its standard error; infinite where it cannot be told from other causes.
        partial: for each value what is left when all but this cause (and noise) is taken off it.
    """

    effect: float
    error: float
    partial: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Weighed:
    """What came of weighing.

    Attributes:
        contrasts: by the name of a cause; of columns that vary within no block there is none.
        rests: for each value what no cause explains.
        scale: the standard deviation of the rests, robust: from their median absolute deviation.
    """

    contrasts: dict[str, Contrast]
    rests: tuple[float, ...]
    scale: float


def weigh(values: Sequence[float], blocks: Sequence[int], columns: Mapping[str, Sequence[float]]) -> Weighed | None:
    """Weigh causes.

    Args:
        values: what is to be explained, one for each note.
        blocks: for each value the block that it lies in.
        columns: by the name of a cause, how much of it touches each value.

    Returns:
        None where there are too few values for as many blocks and causes.
    """
    if not values:
        return None
    y = np.asarray(values, dtype=np.float64)
    block = np.unique(np.asarray(blocks, dtype=np.int64), return_inverse=True)[1]
    raw = {name: np.asarray(column, dtype=np.float64) for name, column in columns.items()}
    weights = np.ones(len(y))
    names = [name for name, column in raw.items() if np.abs(_centred(column, block, weights)).max() > 1e-9]
    freedom = len(y) - len(names) - int(block.max()) - 1
    if freedom < 1:
        return None
    x = np.stack([raw[name] for name in names], axis=1) if names else np.zeros((len(y), 0))
    for _ in range(ROUNDS):
        inside = _centred_columns(x, block, weights)
        inverse = np.linalg.pinv(inside.T @ (inside * weights[:, None]), rcond=1e-9, hermitian=True)
        effects = inverse @ (inside.T @ (weights * _centred(y, block, weights)))
        rest = _centred(y - x @ effects, block, weights)
        scale = max(float(np.median(np.abs(rest))) * _TO_DEVIATION * (len(y) / freedom) ** 0.5, 1e-6)
        weights = np.minimum(1.0, TUNING * scale / np.maximum(np.abs(rest), 1e-12))
    variance = float((weights * rest**2).sum()) / freedom
    told = np.diag(inverse @ (inside.T @ (inside * weights[:, None])))
    found = {
        name: Contrast(
            effect=float(effects[k]),
            error=float(np.sqrt(variance * inverse[k, k])) if told[k] > 0.99 else inf,
            partial=tuple((rest + effects[k] * x[:, k]).tolist()),
        )
        for k, name in enumerate(names)
    }
    return Weighed(found, tuple(rest.tolist()), scale)


def _centred(values: Vector, block: NDArray[np.int64], weights: Vector) -> Vector:
    """Values less the weighted mean of their block."""
    return values - (np.bincount(block, weights * values) / np.bincount(block, weights))[block]


def _centred_columns(x: Vector, block: NDArray[np.int64], weights: Vector) -> Vector:
    centred = np.empty_like(x)
    for k in range(x.shape[1]):
        centred[:, k] = _centred(x[:, k], block, weights)
    return centred
