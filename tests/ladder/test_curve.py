"""What a player can do, as a curve over the tempo."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.ladder.curve import (
    DAY_LOSS,
    LAPSE,
    PRIOR_SPREAD,
    READY,
    SIGMAS,
    Curve,
    after_days,
    after_pass,
    begin,
    ready,
    share,
)

TEMPOS = st.floats(30, 320)
PASSES = st.lists(st.tuples(TEMPOS, st.booleans()), max_size=12)


def told(passes: list[tuple[float, bool]], first: float = 90.0) -> Curve:
    """What is known after some passes."""
    curve = begin(first)
    for tempo, clean in passes:
        curve = after_pass(curve, tempo, clean=clean)
    return curve


@given(PASSES, TEMPOS, TEMPOS)
def test_the_share_falls_with_the_tempo_and_never_reaches_one(
    passes: list[tuple[float, bool]], one: float, two: float
) -> None:
    curve = told(passes)
    slow, fast = sorted((one, two))

    assert 0 <= share(curve, fast) <= share(curve, slow) <= 1 - LAPSE


@given(PASSES, TEMPOS)
def test_a_clean_pass_raises_the_ready_tempo_and_another_lowers_it(
    passes: list[tuple[float, bool]], tempo: float
) -> None:
    curve = told(passes)
    better, worse = after_pass(curve, tempo, clean=True), after_pass(curve, tempo, clean=False)

    assert ready(worse).tempo <= ready(better).tempo
    assert better.passes == worse.passes == curve.passes + 1


@given(PASSES)
def test_the_weights_are_a_distribution_and_the_interval_lies_around_the_tempo(
    passes: list[tuple[float, bool]],
) -> None:
    curve = told(passes)
    found = ready(curve)

    assert curve.weights.sum() == pytest.approx(1)
    assert (curve.weights >= 0).all()
    assert found.low <= found.tempo <= found.high


def test_before_any_pass_the_tempo_told_is_clean_about_half_of_the_time() -> None:
    assert share(begin(90.0), 90.0) == pytest.approx((1 - LAPSE) / 2, abs=0.01)


def test_many_passes_narrow_the_interval_around_the_truth() -> None:
    rng = random.Random(1)
    curve = begin(60.0)
    for _ in range(200):
        tempo = rng.uniform(80, 160)
        curve = after_pass(curve, tempo, clean=rng.random() < clean_share(math.log(120), 0.09, tempo))
    found = ready(curve)

    assert found.low < ready_tempo(math.log(120), 0.09) < found.high
    assert found.high / found.low < 1.4  # the player might have changed from pass to pass


def test_days_without_practice_widen_the_interval_and_lower_the_tempo_a_little() -> None:
    curve = told([(80.0, True), (100.0, True), (120.0, False), (110.0, True)])
    now, later = ready(curve), ready(after_days(curve, 10))

    assert later.high / later.low > now.high / now.low
    assert now.tempo * 0.9 < later.tempo < now.tempo
    assert after_days(curve, 0) is curve


def test_a_day_takes_what_it_is_said_to_take() -> None:
    curve = begin(90.0, 0.1)
    lost = share_half(curve) - share_half(after_days(curve, 20))

    assert lost == pytest.approx(20 * DAY_LOSS, rel=0.05)


def share_half(curve: Curve) -> float:
    """The logarithm of the tempo at which half of the passes without a lapse are clean, by bisection."""
    low, high = math.log(20), math.log(500)
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if share(curve, math.exp(middle)) > (1 - LAPSE) / 2 else (low, middle)
    return low


@pytest.mark.parametrize(("tempo", "spread"), [(14.9, 0.3), (601.0, 0.3), (90.0, 0.0), (90.0, math.inf)])
def test_what_no_curve_can_begin_with_is_refused(tempo: float, spread: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        begin(tempo, spread)


def clean_share(theta: float, sigma: float, tempo: float) -> float:
    """The true share of clean passes of a simulated player."""
    return (1 - LAPSE) / (1 + math.exp((math.log(tempo) - theta) / sigma))


def ready_tempo(theta: float, sigma: float) -> float:
    """The true tempo at which four passes in five are clean."""
    return math.exp(theta - sigma * math.log(READY / (1 - LAPSE - READY)))


def covers(seed: int) -> bool:
    """Whether the interval holds the truth after fifteen passes of a player whose curve is known."""
    rng = random.Random(seed)
    theta, sigma = rng.gauss(math.log(90), PRIOR_SPREAD), rng.choice(SIGMAS)
    curve = begin(90.0)
    tempo = 60.0
    for _ in range(15):
        curve = after_pass(curve, tempo, clean=rng.random() < clean_share(theta, sigma, tempo))
        tempo = max(20.0, min(400.0, ready(curve).tempo))
    found = ready(curve)
    return found.low <= ready_tempo(theta, sigma) <= found.high


def test_the_interval_of_nine_in_ten_covers_the_truth_of_nine_players_in_ten() -> None:
    """400 players drawn from what is thought before, each with fifteen passes at the ready tempo of the moment."""
    assert 0.86 <= sum(covers(seed) for seed in range(400)) / 400 <= 0.94
