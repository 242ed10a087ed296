"""What is expected of a measure that was never played."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.ladder.borrowed import (
    ALIKE,
    MIDDLE,
    NINE_IN_TEN,
    SLOPE,
    SLOPE_SPREAD,
    USUAL,
    USUAL_SPREAD,
    expected,
    taught_by_others,
)
from coach.ladder.curve import FASTEST, LAPSE, READY, SIGMAS, SLOWEST, Ready, after_pass, begin_ready, ready, share

DIFFICULTIES = st.floats(0.5, 5)
SEEN = st.lists(st.tuples(DIFFICULTIES, st.floats(30, 250), st.floats(0.02, 0.4)), max_size=12)


def sure(tempo: float, spread: float = 0.01) -> Ready:
    """A ready tempo whose logarithm has a standard deviation."""
    half = NINE_IN_TEN / 2 * spread
    return Ready(tempo, tempo * math.exp(-half), tempo * math.exp(half))


def test_before_any_pass_it_is_the_usual_tempo() -> None:
    tempo, spread = expected(MIDDLE, [])

    assert tempo == pytest.approx(USUAL)
    assert spread == pytest.approx(math.hypot(USUAL_SPREAD, ALIKE))


def test_the_line_is_learned_from_what_was_played() -> None:
    """A player whose ready tempo halves for each whole index more."""
    seen = [(index, sure(160 * 0.5**index)) for index in (0.5, 1.0, 1.5, 2.0)] * 20

    tempo, spread = expected(2.5, seen)
    assert tempo == pytest.approx(160 * 0.5**2.5, rel=0.05)
    assert ALIKE < spread < ALIKE * 1.1


@given(SEEN, DIFFICULTIES)
def test_it_is_what_the_normal_distribution_of_all_measures_together_says(
    seen: list[tuple[float, float, float]], difficulty: float
) -> None:
    """Against conditioning the joint normal distribution of the measures (a Gaussian process with a linear kernel,
    computed), which never names the line."""
    indices = np.array([index for index, _, _ in seen] + [difficulty]) - MIDDLE
    together = USUAL_SPREAD**2 + SLOPE_SPREAD**2 * np.outer(indices, indices) + ALIKE**2 * np.eye(len(indices))
    mean = math.log(USUAL) + SLOPE * indices
    told = together[:-1, :-1] + np.diag([spread**2 for _, _, spread in seen])
    gain = np.linalg.solve(told, together[:-1, -1]) if seen else np.zeros(0)
    away = np.log([tempo for _, tempo, _ in seen]) - mean[:-1]

    tempo, spread = expected(difficulty, [(index, sure(tempo, spread)) for index, tempo, spread in seen])
    within = min(max(float(mean[-1] + gain @ away), math.log(SLOWEST)), math.log(FASTEST))
    assert math.log(tempo) == pytest.approx(within, abs=1e-6)
    assert spread**2 == pytest.approx(float(together[-1, -1] - gain @ together[:-1, -1]), abs=1e-6)


@given(SEEN, DIFFICULTIES, DIFFICULTIES)
def test_the_more_was_played_the_surer_it_is(
    seen: list[tuple[float, float, float]], difficulty: float, other: float
) -> None:
    told = [(index, sure(tempo, spread)) for index, tempo, spread in seen]

    assert expected(difficulty, [*told, (other, sure(90.0))])[1] <= expected(difficulty, told)[1] + 1e-9


def test_tempos_stay_where_curves_can_begin() -> None:
    assert expected(40.0, [])[0] == 15.0
    assert expected(0.0, [(0.0, sure(900.0))] * 50)[0] == 600.0


def covered(seed: int) -> tuple[bool, bool]:
    """Of a player drawn from what is thought before any pass, of whom three measures are known to a tenth or so:
    whether the interval of a fourth one holds the truth before it was ever played, and after fifteen passes."""
    rng = np.random.default_rng([90, seed])
    indices = rng.uniform(1, 3, 4)
    line = rng.normal(math.log(USUAL), USUAL_SPREAD) + rng.normal(SLOPE, SLOPE_SPREAD) * (indices - MIDDLE)
    truths = line + rng.normal(0, ALIKE, 4)
    seen = [
        (index, sure(math.exp(rng.normal(truth, 0.1)), 0.1))
        for index, truth in zip(indices[1:], truths[1:], strict=True)
    ]
    curve = begin_ready(*expected(float(indices[0]), seen))
    held = [ready(curve)]
    sigma = rng.choice(SIGMAS)
    theta = truths[0] + sigma * math.log(READY / (1 - LAPSE - READY))
    for draw in rng.random(15):
        tempo = ready(curve).tempo
        curve = after_pass(
            curve, tempo, clean=bool(draw < (1 - LAPSE) / (1 + math.exp((math.log(tempo) - theta) / sigma)))
        )
    held.append(ready(curve))
    before, after = (each.low <= math.exp(truths[0]) <= each.high for each in held)
    return before, after


def test_intervals_that_began_with_what_was_borrowed_cover_the_truth_of_nine_players_in_ten() -> None:
    before, after = zip(*(covered(seed) for seed in range(400)), strict=True)

    assert 0.86 <= sum(before) / 400 <= 0.94
    assert 0.86 <= sum(after) / 400 <= 0.94


@pytest.mark.parametrize(("tempo", "came"), [(80.0, True), (80.0, False), (200.0, True), (45.0, False)])
def test_another_measure_tells_of_the_line_what_bayes_says(tempo: float, came: bool) -> None:
    """Of two measures of one difficulty, against the sum over the heights of the line (computed)."""
    centre, spread = expected(2.0, [])
    line = math.sqrt(spread**2 - ALIKE**2)
    heights = [line * step / 40 for step in range(-160, 201)]
    weights = []
    for height in heights:
        clean = share(begin_ready(centre * math.exp(height), ALIKE), tempo)
        weights.append(math.exp(-0.5 * (height / line) ** 2) * (clean if came else 1 - clean))
    mean = sum(w * h for w, h in zip(weights, heights, strict=True)) / sum(weights)
    variance = sum(w * (h - mean) ** 2 for w, h in zip(weights, heights, strict=True)) / sum(weights)

    evidence = (1.0, 0.0) if came else (0.0, 1.0)
    told, _ = taught_by_others([(centre, spread)] * 2, tempo, [(0.5, 0.5), evidence])
    assert math.log(told[0] / centre) == pytest.approx(mean, abs=0.003)
    assert told[1] == pytest.approx(math.sqrt(ALIKE**2 + variance), abs=0.003)


def test_a_measure_alone_is_told_nothing_of_itself() -> None:
    (told,) = taught_by_others([expected(2.0, [])], 300.0, [(1.0, 0.0)])

    assert told == pytest.approx(expected(2.0, []), rel=1e-3)


def first_pass(seed: int) -> bool:
    """Of a player drawn from what is thought before any pass: whether the interval of the first of eight measures holds
    the truth after one pass through all of them."""
    rng = np.random.default_rng([91, seed])
    line = rng.normal(math.log(USUAL), USUAL_SPREAD)
    truths = line + rng.normal(0, ALIKE, 8)
    sigmas = rng.choice(SIGMAS, 8)
    thetas = truths + sigmas * math.log(READY / (1 - LAPSE - READY))
    clean = rng.random(8) < (1 - LAPSE) / (1 + np.exp((math.log(USUAL) - thetas) / sigmas))
    evidence = [(1.0, 0.0) if each else (0.0, 1.0) for each in clean]
    told = taught_by_others([(USUAL, math.hypot(ALIKE, USUAL_SPREAD))] * 8, USUAL, evidence)
    interval = ready(after_pass(begin_ready(*told[0]), USUAL, clean=bool(clean[0])))
    return interval.low <= math.exp(truths[0]) <= interval.high


def test_intervals_after_the_first_pass_cover_the_truth_of_nine_players_in_ten() -> None:
    assert 0.86 <= sum(first_pass(seed) for seed in range(400)) / 400 <= 0.94
