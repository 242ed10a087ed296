"""What differs between two ways through a measure."""

from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.arrange import Work, arrange
from coach.arranging.contrast import contrast
from coach.arranging.otherways import other_ways
from coach.tunes.demo import demo_tune


@pytest.fixture(scope="module")
def measure():
    solo = arrange(demo_tune("mill-lane"), "beginner")
    first = replace(solo.measures[4].plucks[0], fret=0, technique="pick", from_fret=None, finger="T", role="fill")
    row = tuple(replace(first, id=f"m5e{k + 1}", at=Fraction(k, 2), string=3 + k % 2) for k in range(8))
    return replace(solo.measures[4], plucks=row)


def changed(measure, place, **fields):
    plucks = list(measure.plucks)
    plucks[place] = replace(plucks[place], **fields)
    return replace(measure, plucks=tuple(plucks))


@pytest.mark.parametrize(
    ("place", "fields", "said"),
    [
        (3, {"string": 5}, "On the and of beat 2 the thumb fills on string 5 in place of string 4."),
        (0, {"fret": 2}, "On beat 1 the thumb fills on string 3 fret 2 in place of string 3 open."),
        (
            2,
            {"string": 1, "finger": "M", "role": "melody"},
            "On beat 2 the middle finger plays the melody on string 1 in place of string 3.",
        ),
        (
            1,
            {"fret": 3, "finger": None, "technique": "slide", "from_fret": 2},
            "On the and of beat 1 a slide leads to string 4 fret 3 in place of string 4 open.",
        ),
    ],
)
def test_a_place_that_differs_is_told_with_what_was_there(measure, place, fields, said):
    assert contrast(measure, changed(measure, place, **fields)) == said


def test_what_comes_and_goes_is_told_in_order_and_a_long_row_is_cut(measure):
    fewer = replace(measure, plucks=measure.plucks[1:])
    assert contrast(measure, fewer) == "On beat 1 nothing on string 3."
    assert contrast(fewer, measure) == "On beat 1 the thumb fills on string 3 besides."
    assert contrast(measure, measure) == ""

    other = replace(measure, plucks=tuple(replace(each, string=5) for each in measure.plucks))
    told = contrast(measure, other)
    assert told.count("in place of") == 5
    assert told.endswith("; and 3 more places differ.")


def test_no_two_of_the_other_ways_are_told_alike_where_few_places_differ():
    ways = other_ways(Work(demo_tune("mill-lane")), "intermediate", 5)

    told = [way.sentence for way in ways]
    assert len(told) == 8
    assert len(set(told)) == len(told)
    assert all(sentence.startswith("On ") for sentence in told)
