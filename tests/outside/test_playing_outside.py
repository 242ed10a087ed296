"""The numbers of playing beside numpy, scipy and the standard library."""

from __future__ import annotations

import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.stats import fisher_exact

from coach.listening.contrasts import TUNING, weigh
from coach.listening.habits import fisher_tail
from coach.listening.playing import evenness


@given(st.lists(st.floats(-200, 200), min_size=3, max_size=60))
def test_evenness_is_the_second_difference_of_numpy(offsets: list[float]) -> None:
    unevens = np.diff(np.array(offsets), 2) / -2
    expected = float(np.sqrt(np.mean(unevens**2) / 1.5))

    assert evenness(unevens.tolist()) == pytest.approx(expected, abs=0.001)


def test_evenness_of_independent_offsets_is_their_deviation() -> None:
    offsets = np.random.default_rng(1).normal(0, 15, 20_000)

    assert evenness((np.diff(offsets, 2) / -2).tolist()) == pytest.approx(statistics.pstdev(offsets.tolist()), rel=0.02)


@given(st.integers(0, 20), st.integers(0, 20), st.integers(0, 60), st.integers(0, 60))
def test_the_chance_of_faults_is_fishers_of_scipy(count: int, rest: int, others: int, other_rest: int) -> None:
    expected = fisher_exact([[count, rest], [others, other_rest]], alternative="greater").pvalue

    assert fisher_tail(count, count + rest, others, others + other_rest) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_without_wild_notes_causes_are_weighed_as_by_least_squares() -> None:
    rng = np.random.default_rng(2)
    blocks = np.repeat(np.arange(10), 8)
    columns = np.stack([np.tile(np.arange(8) == 2, 10), rng.random(80) < 0.2], axis=1).astype(float)
    # Offsets on two levels only: no note lies beyond the robust limit.
    values = columns @ np.array([-30.0, 60.0]) + rng.choice([-5.0, 5.0], 80)
    design = np.hstack([columns, np.eye(10)[blocks]])
    expected = np.linalg.lstsq(design, values, rcond=None)[0]
    weighed = weigh(values.tolist(), blocks.tolist(), {"one": columns[:, 0].tolist(), "two": columns[:, 1].tolist()})

    assert weighed is not None
    assert weighed.contrasts["one"].effect == pytest.approx(expected[0], abs=0.2)
    assert weighed.contrasts["two"].effect == pytest.approx(expected[1], abs=0.2)


def test_with_wild_notes_they_are_weighed_by_hubers_loss() -> None:
    rng = np.random.default_rng(3)
    blocks = np.repeat(np.arange(6), 10)
    column = np.tile(np.arange(10) % 5 == 2, 6).astype(float)
    values = -25 * column + rng.normal(0, 12, 60)
    values[[3, 22, 47]] += 150
    weighed = weigh(values.tolist(), blocks.tolist(), {"fifth": column.tolist()})
    assert weighed is not None
    limit = TUNING * weighed.scale

    def loss(parameters: np.ndarray) -> float:
        rest = np.abs(values - parameters[0] * column - parameters[1:][blocks])
        return float(np.where(rest <= limit, rest**2 / 2, limit * (rest - limit / 2)).sum())

    best = minimize(loss, np.zeros(7), method="BFGS").x

    assert weighed.contrasts["fifth"].effect == pytest.approx(best[0], abs=1.0)
