"""The reach of the left hand where grids of two sizes meet at a barline."""

from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.rules import broken_rules

HALF = Fraction(1, 2)


def side_by_side(solo, *rows):
    """A solo of a measure a row; a row that begins with a tilde has slots of half the size."""
    measures = []
    for number, row in enumerate(rows, start=1):
        slot = HALF / 2 if row.startswith("~") else HALF
        (measure,) = solo(row.lstrip("~"), slot=slot, first=number).measures
        measures.append(replace(measure, slot=slot))
    return replace(solo("T30*"), measures=tuple(measures))


@pytest.mark.parametrize(
    ("first", "second", "broken"),
    [
        # A roll is four slots, be they coarse or fine: four from the drone to fret 4, six to fret 3.
        ("I20 T40 M10 T50d", "~M17* I27 T50d M14* T50d I23", set()),
        ("I20 T40 M10 T50d", "~M17* I20 T50d M13*", {"span"}),
        ("I20 T40 M10 T27*", "~M10* I20 T33* M10", {"span"}),
        ("I20 T40 M10 T27*", "~M10* I20 T50d I33*", set()),
        ("~I20 T40 I20 M14*", "T40 I20 M18* T50d", {"span"}),
        ("~I20 T40 I20 M14*", "T40 I20 T50d M18*", set()),
        # A fine slot that is held before a coarse one gives no time to move.
        ("~I20 T40 M14* -", "T40 M18* T50d I20", {"span"}),
    ],
)
def test_a_roll_is_four_slots_of_either_grid(solo, first, second, broken):
    assert {each.rule for each in broken_rules(side_by_side(solo, first, second))} == broken
