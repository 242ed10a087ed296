"""The slot is such that the melody's usual note fills two, in every metre and section of a tune."""

from fractions import Fraction

import pytest

from coach.arranging.grain import find_grain, find_grains, scaled
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


def halves(meter, count, *, first=1, double=False):
    """Measures of one metre, of notes that are half a beat of it."""
    found = measures(meter, Fraction(2, meter.unit), count=count)
    return [
        Measure(first + k, meter, each.length, each.notes, double_bar=double and k == count - 1)
        for k, each in enumerate(found)
    ]


def beats(meter, count, *, double=False):
    """Measures of one metre, of notes that are a beat of it."""
    found = measures(meter, Fraction(4, meter.unit), count=count)
    return [
        Measure(each.number, meter, each.length, each.notes, double_bar=double and k == count - 1)
        for k, each in enumerate(found)
    ]


FOUR, THREE, JIG = Meter(4, 4), Meter(3, 4), Meter(6, 8)
HALF, QUARTER = Fraction(1, 2), Fraction(1, 4)


def slots(found):
    return [grain.slot for grain in found]


def test_a_tune_has_one_slot():
    assert slots(find_grains([*beats(FOUR, 12), *halves(FOUR, 4)])) == [HALF] * 16


def test_each_metre_that_holds_for_a_while_has_its_own_slot():
    assert slots(find_grains([*beats(FOUR, 8), *halves(THREE, 4)])) == [HALF] * 8 + [QUARTER] * 4


def test_a_metre_for_a_measure_or_three_goes_with_what_is_before_it():
    assert slots(find_grains([*beats(FOUR, 8), *halves(THREE, 3), *beats(FOUR, 2)])) == [HALF] * 13


def test_a_metre_that_comes_again_is_as_it_was():
    found = slots(find_grains([*beats(THREE, 4), *halves(FOUR, 8), *beats(THREE, 4)]))

    assert found == [HALF] * 4 + [QUARTER] * 8 + [HALF] * 4


def test_a_strain_that_moves_in_other_notes_has_a_slot_of_its_own():
    tune = [*beats(FOUR, 8, double=True), *halves(FOUR, 8)]

    assert slots(find_grains(tune)) == [HALF] * 8 + [QUARTER] * 8


@pytest.mark.parametrize(
    "tune", [[*beats(FOUR, 7, double=True), *halves(FOUR, 7)], [*beats(FOUR, 9), *halves(FOUR, 8)]]
)
def test_a_shorter_part_or_one_without_a_double_bar_is_no_strain(tune):
    assert len(set(slots(find_grains(tune)))) == 1


def test_a_calm_strain_of_a_dense_tune_is_not_thinned():
    cut = Meter(2, 2)
    tune = [*beats(cut, 8, double=True), *measures(cut, "1/2", count=12)]

    assert [grain.dense for grain in find_grains(tune)] == [False] * 8 + [True] * 12


def test_the_scale_is_that_of_the_longest_part_and_the_same_for_all():
    found = find_grains([*halves(Meter(2, 4), 12), *beats(THREE, 4)])

    assert {grain.scale for grain in found} == {2}
    assert slots(found) == [QUARTER] * 12 + [HALF] * 4


def test_measures_of_rest_take_the_slot_of_the_tune():
    silent = Measure(9, THREE, THREE.length)

    assert slots(find_grains([*beats(FOUR, 8), *[silent] * 4])) == [HALF] * 12


@pytest.mark.parametrize(
    ("meter", "length", "slot", "scale"),
    [
        (Meter(4, 2), "2", 1, "1/2"),  # an old song in half notes is written in quarters
        (Meter(3, 2), "2", 1, "1/2"),
        (Meter(4, 1), "4", 2, "1/4"),
        (Meter(6, 4), "1", "1/2", 1),
        (Meter(9, 8), "1/2", "1/4", 1),
        (Meter(12, 8), "1/2", "1/4", 1),
        (Meter(5, 8), "1/2", "1/4", 2),
        (Meter(3, 8), "1/4", "1/8", 2),
    ],
)
def test_old_and_odd_metres_are_written_so_that_slots_are_eighths_where_they_can(meter, length, slot, scale):
    found = find_grain(measures(meter, length))

    assert (found.slot, found.scale) == (Fraction(slot), Fraction(scale))


@pytest.mark.parametrize(
    ("meter", "scale", "written"), [(Meter(4, 2), "1/2", "4/4"), (Meter(4, 1), "1/4", "4/4"), (Meter(3, 1), 2, "6/1")]
)
def test_a_scaled_metre_has_measures_of_the_scaled_length(meter, scale, written):
    found = scaled(meter, Fraction(scale))

    assert str(found) == written
    assert found.length == Fraction(scale) * meter.length
