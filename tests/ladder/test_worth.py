"""What is worth playing next."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.ladder.curve import TEMPOS, Curve, begin, teaching
from coach.ladder.policies import MOST_UP, tempo_of_share
from coach.ladder.worth import LOOPS, MOST_SPOTS, Practice, best_practice

FLOOR, GOAL = 30.0, 200.0


def solo(count: int = 16, **slower: float) -> dict[int, Curve]:
    """Measures that are alike, but for some, named like ``m6``."""
    return {number: begin(slower.get(f"m{number}", 160.0), 0.08) for number in range(1, count + 1)}


def best(
    curves: dict[int, Curve], lately: list[tuple[int, int] | None], tempo: float = 80.0, **more: object
) -> Practice:
    lengths = dict.fromkeys(curves, 4.0)
    limits = {"floor": FLOOR, "goal": GOAL, **more}
    return best_practice(curves, lengths, tempo=tempo, lately=lately, **limits)  # type: ignore[arg-type]


def played(curves: dict[int, Curve], passes: int, **more: object) -> list[tuple[int, int] | None]:
    """What is played in so many passes, each as good as it was thought."""
    lately: list[tuple[int, int] | None] = []
    for _ in range(passes):
        spot = best(curves, lately, **more).spot
        lately.append(None if spot is None else (spot.lead_in, spot.last))
    return lately


def test_the_whole_comes_first() -> None:
    assert best(solo(m6=60.0), []) == Practice(80.0, pytest.approx(best(solo(m6=60.0), []).worth))


def test_then_the_measure_that_has_furthest_to_go_with_its_lead_in_at_its_own_tempo() -> None:
    practice = best(solo(m6=60.0), [None])

    assert practice.spot is not None
    assert (practice.spot.lead_in, practice.spot.first, practice.spot.last) == (5, 6, 6)
    assert practice.tempo == practice.spot.tempo
    assert 40 < practice.tempo < 60


def test_a_spot_is_looped_a_few_times_then_another_then_the_whole() -> None:
    assert played(solo(m6=60.0, m11=65.0, m14=68.0), 8) == [
        None,
        *[(5, 6)] * LOOPS,
        *[(10, 11)] * LOOPS,
        None,
    ]


@settings(max_examples=12)
@given(st.dictionaries(st.sampled_from([f"m{n}" for n in range(1, 17)]), st.floats(40, 150), max_size=6))
def test_no_spot_is_hammered_and_each_is_put_back_into_the_whole(slower: dict[str, float]) -> None:
    lately = played(solo(**slower), 16)

    assert lately[0] is None
    run: list[tuple[int, int]] = []
    for each in [*lately[1:], None]:
        if each is None:
            assert all(run.count(spot) <= LOOPS for spot in run)
            assert len(set(run)) <= MOST_SPOTS
            run = []
        else:
            run.append(each)


def test_measures_that_are_alike_are_played_as_a_whole() -> None:
    curves = solo()

    assert played(curves, 6, tempo=tempo_of_share(curves, 0.84)) == [None] * 6


def test_a_whole_of_two_measures_has_no_spot_that_is_all_of_it() -> None:
    assert played(solo(1, m1=60.0), 3) == [None] * 3
    assert set(played(solo(2, m2=60.0), 4, tempo=50.0)) == {None}


def test_what_is_at_its_goal_has_no_spots() -> None:
    assert best(solo(m6=60.0), [None], goal=35.0, tempo=35.0).spot is None


def test_a_spot_stays_between_floor_and_goal() -> None:
    assert best(solo(m6=60.0), [None], floor=55.0).tempo == 55.0
    assert best(solo(m6=50.0), [None], goal=44.0, tempo=44.0).tempo <= 44.0


def test_a_spot_is_not_played_much_faster_than_the_whole() -> None:
    practice = best(solo(m6=60.0), [None], tempo=40.0)

    assert practice.spot is not None
    assert practice.tempo == 40.0 * MOST_UP


def test_repeats_of_a_spot_are_the_same_spot() -> None:
    curves = solo(m6=60.0, m14=60.0)
    lately = [None, *[(5, 6)] * LOOPS]

    apart, alike = best(curves, lately).spot, best(curves, lately, repeats={14: 6}).spot
    assert apart is not None
    assert (apart.first, apart.last) == (14, 14)
    assert alike is None or 14 not in (alike.first, alike.last)


def test_a_minute_of_a_short_spot_is_worth_more_than_one_of_the_whole() -> None:
    curves = solo(m6=60.0)

    assert best(curves, [None]).worth > best(curves, []).worth > 0


@pytest.mark.parametrize("sigma_index", [0, 2, 4])
def test_a_pass_teaches_most_at_82_percent_and_nothing_at_even_odds(sigma_index: int) -> None:
    """R. C. Wilson et al. 2019, carried over to logistic noise: the optimum of x * p * (1 - p) lies at 17.6 % of
    failures (DERIVED)."""
    weights = np.zeros_like(begin(90.0).weights)
    weights[60, sigma_index] = 1.0
    sigma = (0.04, 0.06, 0.09, 0.13, 0.19)[sigma_index]
    theta = float(np.linspace(math.log(15), math.log(600), 120)[60])
    (taught,) = teaching([Curve(weights)])
    shares = 1 / (1 + np.exp((np.log(TEMPOS) - theta) / sigma))

    assert taught.max() <= 1 + 1e-3
    assert (taught[shares <= 0.5] < 1e-6).all()
    at = int(taught.argmax())
    assert shares[at - 1] > 0.824 > shares[at + 1]
    x = -(np.log(TEMPOS) - theta) / sigma
    assert taught[shares > 0.5] == pytest.approx((x * shares * (1 - shares))[shares > 0.5] / 0.2239, abs=1e-6)
