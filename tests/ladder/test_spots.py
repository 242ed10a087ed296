"""Passes from measures, and the measures that hold the tempo back."""

from __future__ import annotations

import math
from itertools import product
from math import prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.ladder.curve import TEMPOS, Curve, Floats, begin, share, shares
from coach.ladder.spots import possible_spots, ready_whole, way_to_goal
from coach.ladder.whole import clean_share, fastest, without_each

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
    assert found == pytest.approx([101.0, 15.0, 600.0], rel=1e-3)


@given(SHARES)
def test_what_is_known_of_one_measure_splits_the_share_of_the_pass(shares: list[float]) -> None:
    """By the law of total probability, and against a pass in which the measure is certain."""
    if_clean, if_not = without_each(np.array(shares))

    for index, each in enumerate(shares):
        certain = [*shares[:index], 1.0, *shares[index + 1 :]]
        assert each * if_clean[index] + (1 - each) * if_not[index] == pytest.approx(clean_share(shares))
        assert if_clean[index] == pytest.approx(clean_share(certain))


def solo(**slower: float) -> dict[int, Curve]:
    """Sixteen measures that are alike, but for some, named like ``m6``."""
    return {number: begin(slower.get(f"m{number}", 160.0), 0.08) for number in range(1, 17)}


def rows(curves: dict[int, Curve]) -> Floats:
    return shares([curves[number] for number in sorted(curves)])


def test_a_measure_has_as_far_to_go_as_its_curve_is_behind() -> None:
    ways = way_to_goal(rows(solo(m6=80.0, m7=400.0)), 200.0)

    # A curve at half the tempo has farther to go by the logarithm of two.
    assert ways[5] - ways[0] == pytest.approx(math.log(2), abs=0.01)
    assert ways[6] == 0
    assert (ways[[0, 1, 15]] > 0).all()


@pytest.mark.parametrize("count", [1, 5, 8, 16, 23])
def test_a_whole_of_measures_that_have_no_way_left_is_ready_at_its_goal(count: int) -> None:
    """Alike, with the ready tempo of the whole for a goal: then each does its part exactly."""
    alike = {number: begin(120.0, 0.05) for number in range(count)}

    assert way_to_goal(rows(alike), ready_whole(alike)) == pytest.approx(np.zeros(count), abs=2e-3)


@given(st.integers(1, 20))
def test_spots_are_measures_and_pairs_with_a_measure_of_lead_in(count: int) -> None:
    numbers = list(range(3, 3 + count))
    spots = possible_spots(numbers, np.full((count, len(TEMPOS)), 0.9), 0.84)

    assert all(spot.lead_in == max(3, spot.first - 1) for spot in spots)
    assert all(spot.last - spot.first in (0, 1) for spot in spots)
    assert all(spot.last - spot.lead_in + 1 < count for spot in spots)
    assert len({(spot.first, spot.last) for spot in spots}) == len(spots)
    # All of them but those that would be the whole.
    assert len(spots) == {1: 0, 2: 1, 3: 4}.get(count, 2 * count - 1)


def test_the_tempo_of_a_spot_lets_the_share_wished_for_be_clean() -> None:
    curves = solo(m6=80.0)
    spots = {(spot.first, spot.last): spot for spot in possible_spots(sorted(curves), rows(curves), 0.84)}

    spot = spots[6, 6]
    inside = {number: curves[number] for number in (5, 6)}
    assert clean_share([share(curve, spot.tempo) for curve in inside.values()]) == pytest.approx(0.84, abs=0.01)
    assert spot.tempo < spots[9, 9].tempo


def test_the_whole_is_ready_later_than_its_measures_by_themselves() -> None:
    curves = solo()

    assert ready_whole(curves) < ready_whole({1: curves[1]})
