"""Places as they are counted aloud."""

from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.arrange import arrange
from coach.arranging.counting import counted
from coach.tunes.demo import demo_tune
from coach.tunes.tune import Meter


@pytest.fixture(scope="module")
def measure():
    return arrange(demo_tune("mill-lane"), "beginner").measures[2]


@pytest.mark.parametrize(
    ("meter", "at", "words"),
    [
        (Meter(4, 4), "0", "beat 1"),
        (Meter(4, 4), "3/2", "the and of beat 2"),
        (Meter(4, 4), "9/4", "the e of beat 3"),
        (Meter(4, 4), "15/4", "the a of beat 4"),
        (Meter(4, 4), "1/3", "1/3 of a beat after beat 1"),
        (Meter(2, 2), "3", "the and of beat 2"),
        (Meter(6, 8), "3/2", "beat 2"),
        (Meter(6, 8), "1/2", "the second part of beat 1"),
        (Meter(6, 8), "5/2", "the third part of beat 2"),
    ],
)
def test_a_place_is_said_as_it_is_counted(measure, meter, at, words):
    assert counted(replace(measure, meter=meter, length=meter.length), Fraction(at)) == words


def test_a_pickup_is_counted_from_its_end(measure):
    pickup = replace(measure, number=0, meter=Meter(4, 4), length=Fraction(1))

    assert [counted(pickup, Fraction(k, 2)) for k in range(2)] == ["beat 4", "the and of beat 4"]
