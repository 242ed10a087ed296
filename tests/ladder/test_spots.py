"""Passes from measures, and the measures that hold the tempo back."""

from __future__ import annotations

from itertools import product
from math import prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.ladder.curve import TEMPOS, Curve, begin
from coach.ladder.spots import HOLDS_BACK, ready_whole, trouble_spots
from coach.ladder.whole import clean_share, fastest

SHARES = st.lists(st.floats(0, 1), min_size=1, max_size=10)


@given(SHARES)
def test_the_share_of_clean_passes_is_that_of_all_ways_in_which_measures_can_fail(shares: list[float]) -> None:
    """Against the sum over all 2 ** n outcomes (computed)."""
    allowed = len(shares) // 8
    expected = sum(
        prod(share if clean else 1 - share for share, clean in zip(shares, ways, strict=True))
        for ways in product((True, False), repeat=len(shares))
        if ways.count(False) <= allowed
    )

    assert clean_share(shares) == pytest.approx(expected)


@pytest.mark.parametrize(("count", "expected"), [(7, 0.5**7), (8, 9 * 0.5**8)])
def test_a_pass_of_eight_measures_allows_one_that_is_not_clean(count: int, expected: float) -> None:
    assert clean_share([0.5] * count) == pytest.approx(expected)


def test_the_fastest_tempo_is_found_between_the_ends() -> None:
    falling = 1 / (1 + (TEMPOS / 101.0) ** 8)

    found = fastest(np.stack([falling, np.zeros_like(TEMPOS), np.ones_like(TEMPOS)]), 0.5)
    assert found == pytest.approx([101.0, 15.0, 600.0], rel=1e-4)


def solo(**slower: float) -> dict[int, Curve]:
    """Sixteen measures that are alike, but for some, named like ``m6``."""
    return {number: begin(slower.get(f"m{number}", 160.0), 0.08) for number in range(1, 17)}


def test_one_slow_measure_is_the_spot_with_a_measure_of_lead_in() -> None:
    # Two in sixteen may fail, so a single slow one alone would cost nothing: three do.
    (first, *_) = trouble_spots(solo(m6=60.0, m11=75.0, m14=75.0), 200.0)

    assert (first.first, first.last, first.lead_in) == (6, 6, 5)
    assert first.gain >= HOLDS_BACK
    assert 40 < first.tempo < 60


def test_slow_neighbours_are_one_spot() -> None:
    (spot,) = trouble_spots(solo(m6=60.0, m7=62.0, m8=64.0), 120.0)[:1]

    assert (spot.first, spot.last, spot.lead_in) == (6, 7, 5)


def test_the_first_measure_has_no_lead_in() -> None:
    (spot, *_) = trouble_spots(solo(m1=55.0, m9=70.0, m12=70.0), 200.0)

    assert (spot.first, spot.lead_in) == (1, 1)


def test_there_are_two_spots_at_most_and_they_do_not_overlap() -> None:
    spots = trouble_spots(solo(m2=60.0, m5=60.0, m8=60.0, m11=60.0), 200.0)
    measures = [number for spot in spots for number in range(spot.first, spot.last + 1)]

    assert len(spots) <= 2
    assert len(measures) == len(set(measures))


def test_what_is_ready_or_alike_has_no_spots() -> None:
    assert trouble_spots(solo(), 200.0) == ()
    assert trouble_spots(solo(m6=60.0), 40.0) == ()
    assert trouble_spots({1: begin(60.0)}, 200.0) == ()


def test_the_whole_is_ready_later_than_its_measures_by_themselves() -> None:
    curves = solo()

    assert ready_whole(curves) < ready_whole({1: curves[1]})
    assert ready_whole(curves, [1, 2]) >= ready_whole(curves)
