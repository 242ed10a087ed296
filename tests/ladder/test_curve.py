"""What a player can do, as a curve over the tempo."""

from __future__ import annotations

import math
import random
import struct

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.ladder.curve import (
    DAY_LOSS,
    LAPSE,
    PASS_GAIN,
    PRIOR_SPREAD,
    READY,
    SIGMAS,
    Curve,
    after_days,
    after_evidence,
    after_pass,
    begin,
    begin_ready,
    from_bytes,
    ready,
    share,
    shares,
    to_bytes,
)
from coach.ladder.curve import TEMPOS as GRID

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


@settings(max_examples=25)
@given(PASSES)
def test_a_curve_comes_back_from_its_bytes_to_three_digits(passes: list[tuple[float, bool]]) -> None:
    curve = told(passes)
    data = to_bytes(curve)
    back = from_bytes(data, curve.passes)

    assert data[0] == 1
    assert len(data) == 1 + 2 * curve.weights.size
    assert back.passes == curve.passes
    assert np.allclose(back.weights, curve.weights, rtol=1e-3, atol=1e-6 * curve.weights.max())
    assert to_bytes(back) == data


def test_the_bytes_are_binary16_numbers_row_by_row() -> None:
    """Against struct, which reads them by itself."""
    curve = told([(100.0, True)])
    numbers = struct.unpack(f"<{curve.weights.size}e", to_bytes(curve)[1:])

    assert max(numbers) == 1.0
    assert numbers[: len(SIGMAS)] == pytest.approx(curve.weights[0] / curve.weights.max(), rel=1e-3, abs=1e-7)


@pytest.mark.parametrize(
    ("data", "passes"),
    [
        (b"", 3),
        (to_bytes(begin(90.0))[:-1], 3),
        (b"\x02" + to_bytes(begin(90.0))[1:], 3),
        (b"\x01" + bytes(len(to_bytes(begin(90.0))) - 1), 3),
        (to_bytes(begin(90.0))[:-2] + struct.pack("<e", math.nan), 3),
        (to_bytes(begin(90.0))[:-2] + struct.pack("<e", -0.5), 3),
        (to_bytes(begin(90.0)), -1),
    ],
)
def test_bytes_that_are_no_curve_are_refused(data: bytes, passes: int) -> None:
    with pytest.raises(ValueError, match="curve"):
        from_bytes(data, passes)


@settings(max_examples=25)
@given(PASSES, TEMPOS)
def test_shares_at_several_tempos_are_those_at_each(passes: list[tuple[float, bool]], tempo: float) -> None:
    curves = [told(passes), begin(70.0)]
    found = shares(curves, np.array([tempo, 100.0]))

    assert found == pytest.approx(np.array([[share(curve, each) for each in (tempo, 100.0)] for curve in curves]))
    assert shares(curves).shape == (2, len(GRID))
    assert shares(curves)[1] == pytest.approx([share(curves[1], each) for each in GRID.tolist()])


def test_what_is_seen_of_several_places_is_what_is_seen_of_each() -> None:
    before = [begin(80.0), begin(120.0)]
    after = after_evidence(before, 100.0, [(1.0, 0.0), (0.0, 1.0)])

    assert after[0].weights == pytest.approx(after_pass(before[0], 100.0, clean=True).weights)
    assert after[1].weights == pytest.approx(after_pass(before[1], 100.0, clean=False).weights)
    assert after_evidence([], 100.0, []) == ()


def test_evidence_that_says_nothing_teaches_only_what_a_pass_teaches() -> None:
    """At a tempo that is hopeless a pass teaches nothing either, and the player is as likely better as worse."""
    curve = begin(60.0, 0.1)
    (after,) = after_evidence([curve], 500.0, [(0.7, 0.7)])
    (taught,) = after_evidence([curve], 50.0, [(0.7, 0.7)])

    assert share_half(after) == pytest.approx(share_half(curve), abs=1e-3)
    assert 0.3 * PASS_GAIN < share_half(taught) - share_half(curve) < PASS_GAIN


@pytest.mark.parametrize("spread", [0.05, 0.2, 0.5])
def test_a_guess_of_the_ready_tempo_is_its_median_with_its_spread(spread: float) -> None:
    found = ready(begin_ready(90.0, spread))

    assert found.tempo == pytest.approx(90.0, rel=0.01)
    assert math.log(found.high / found.low) == pytest.approx(2 * 1.6449 * spread, rel=0.03)
