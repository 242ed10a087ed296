"""The slot is such that the melody's usual note fills two, in every metre and section of a tune."""

from fractions import Fraction

import pytest

from coach.arranging.grain import find_grain, scaled
from coach.tunes.tune import Measure, Meter, Note


def measures(meter, length, *, count=4, every=None):
    """Measures of equal notes."""
    length, every = Fraction(length), Fraction(every or length)
    notes = tuple(Note(at=k * every, length=length, pitch=60) for k in range(int(meter.length / every)))
    return [Measure(number, meter, meter.length, notes) for number in range(1, count + 1)]


@pytest.mark.parametrize(
    ("meter", "length", "slot", "scale"),
    [
        (Meter(4, 4), "1", Fraction(1, 2), 1),  # a song in quarters has eighths as slots
        (Meter(2, 4), "1/2", Fraction(1, 4), 2),  # a 2/4 song in eighths is doubled
        (Meter(2, 4), "1", Fraction(1, 2), 1),
        (Meter(3, 4), "1", Fraction(1, 2), 1),
        (Meter(3, 8), "1/2", Fraction(1, 4), 2),
        (Meter(4, 4), "1/2", Fraction(1, 4), 1),
        (Meter(2, 2), "1", Fraction(1, 2), 1),
        (Meter(6, 8), "1/2", Fraction(1, 4), 1),
    ],
)
def test_the_usual_note_fills_two_slots(meter, length, slot, scale):
    grain = find_grain(measures(meter, length))

    assert (grain.slot, grain.scale, grain.dense) == (slot, scale, False)


def test_a_jig_of_quarters_and_eighths_has_eighths_as_slots():
    notes = (
        Note(Fraction(0), Fraction(1), 60),
        Note(Fraction(1), Fraction(1, 2), 62),
        Note(Fraction(3, 2), Fraction(1), 60),
    )
    jig = [Measure(1, Meter(6, 8), Fraction(3), notes)]

    assert find_grain(jig).slot == Fraction(1, 2)


def test_a_reel_in_running_eighths_of_cut_time_is_too_dense():
    assert find_grain(measures(Meter(2, 2), "1/2")).dense
    assert find_grain(measures(Meter(2, 4), "1/4")).dense


@pytest.mark.parametrize(("meter", "twice"), [(Meter(2, 4), "2/2"), (Meter(3, 8), "3/4"), (Meter(3, 4), "3/2")])
def test_a_doubled_metre_has_measures_of_twice_the_length(meter, twice):
    assert str(scaled(meter, Fraction(2))) == twice
    assert scaled(meter, Fraction(2)).length == 2 * meter.length
