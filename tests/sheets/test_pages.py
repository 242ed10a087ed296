"""Measures dealt to systems, systems to pages."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.sheets.folding import PaperMeasure
from coach.sheets.pages import dealt_to_pages, dealt_to_systems
from coach.tunes.tune import Meter


@pytest.fixture(scope="module")
def paper(make):
    """So many measures, the first one a pickup if wished."""

    def measures(count: int, first: int = 1) -> list[PaperMeasure]:
        return [PaperMeasure(make.measure(number, Meter(4, 4), ())) for number in range(first, first + count)]

    return measures


def counts(systems: list[tuple[PaperMeasure, ...]]) -> list[int]:
    return [len(system) for system in systems]


@pytest.mark.parametrize(
    ("count", "width", "expected"),
    [
        (16, 240, [4, 4, 4, 4]),
        (16, 250, [4, 4, 4, 4]),
        (8, 251, [3, 3, 2]),  # four do not fit any more
        (8, 400, [2, 2, 2, 2]),
        (3, 1200, [1, 1, 1]),  # what fits nowhere stands alone
        (2, 10, [2]),
        (9, 100, [4, 4, 1]),  # systems begin with phrases where the page allows it
    ],
)
def test_four_measures_a_system_or_as_many_as_fit(paper, count: int, width: float, expected: list[int]) -> None:
    assert counts(dealt_to_systems(paper(count), [width] * count, 1000)) == expected


def test_a_pickup_takes_room_but_is_not_counted(paper) -> None:
    assert counts(dealt_to_systems(paper(5, first=0), [200] * 5, 1000)) == [5]
    assert counts(dealt_to_systems(paper(5, first=0), [201] * 5, 1000)) == [1, 4]


def test_systems_begin_with_a_repeat_or_an_ending_rather_than_inside_a_phrase(paper) -> None:
    measures = paper(7)
    assert counts(dealt_to_systems(measures, [240] * 7, 1000)) == [4, 3]

    measures[3] = replace(measures[3], repeat_start=True)
    assert counts(dealt_to_systems(measures, [240] * 7, 1000))[0] in {3, 4}
    measures = [replace(each, ending=2) if index > 2 else each for index, each in enumerate(measures)]
    assert counts(dealt_to_systems(measures, [240] * 7, 1000)) == [3, 4]


@given(st.lists(st.floats(1, 1200), min_size=1, max_size=40), st.integers(0, 1))
def test_every_measure_is_dealt_once_in_order_and_fits(paper, widths: list[float], first: int) -> None:
    measures = paper(len(widths), first)
    systems = dealt_to_systems(measures, widths, 1000)

    assert [each for system in systems for each in system] == measures
    for system in systems:
        used = sum(widths[measures.index(each)] for each in system)
        assert len(system) == 1 or used <= 1000
        assert sum(each.measure.number > 0 for each in system) <= 4
    if len(systems) == 2:
        # A single system would not have done.
        assert sum(widths) > 1000 or sum(each.measure.number > 0 for each in measures) > 4


@pytest.mark.parametrize(
    ("heights", "first", "further", "expected"),
    [
        ([50.0] * 4, 212, 270, [4]),  # 4 · 50 + 3 · 4 = 212
        ([50.0] * 4, 211.9, 270, [2, 2]),
        ([50.0] * 8, 212, 270, [4, 4]),
        ([50.0] * 9, 212, 270, [4, 5]),
        ([90.0] * 5, 200, 270, [2, 2, 1]),
        ([100.0], 90, 270, [0, 1]),  # beside the heading there is no room for a single one
        ([300.0, 100.0], 200, 270, [1, 1]),  # higher than any page
    ],
)
def test_systems_fill_pages_evenly(heights: list[float], first: float, further: float, expected: list[int]) -> None:
    assert dealt_to_pages(heights, 4, first, further) == expected
