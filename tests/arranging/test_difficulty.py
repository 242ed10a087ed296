"""The parts of the difficulty, counted by hand, and what must never lower it."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.arranging.difficulty import PARTS, difficulty
from coach.tunes.demo import DEMO_TUNES


def parts(arrangement):
    """The parts that are not 0, of a whole solo."""
    return {name: value for name, value in difficulty(arrangement).parts.values.items() if value}


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("T30* - T30* - T30* - T30* -", {"notes": 1}),
        ("T30 I20 M10 I20 T30 I20 M10 I20", {"notes": 2}),  # no finger leaves its string
        ("T30 - T50d - T40 - - -", {"notes": 0.75, "string crossings": 0.75}),  # two strings and one, over four beats
        ("T30*&M10+ - - - - - - -", {"notes": 0.25}),  # a pinch is one
        ("T42 - M12 - I21 - - -", {"notes": 0.75}),  # all within first position
        ("T42 - M17 - - - - -", {"notes": 0.5, "left-hand travel": 0.75}),  # up from fret 1 to 4
        ("M17 - T42 - M17 - - -", {"notes": 0.75, "left-hand travel": 1.75}),  # 3 up, 2 down, 2 up
        ("T32,h33 - - - - - - -", {"notes": 0.5, "slurs": 0.25}),
        ("T30* I20* - - - - - -", {"notes": 0.5, "off-beat melody": 0.25}),
        ("- T32 h33* - - - - -", {"notes": 0.5, "slurs": 0.25, "off-beat melody": 0.25}),  # struck off the beat
        ("- I20 - - - - - -", {"notes": 0.25}),  # a fill off the beat is no melody
    ],
)
def test_the_parts_are_counted_a_beat(solo, row, expected):
    assert parts(solo(row)) == expected


def test_a_beat_is_two_slots_and_three_in_compound_metres(solo):
    assert parts(solo("T30* - T30* -", slot=Fraction(1, 4), meter=(2, 8)))["notes"] == 1
    assert parts(solo("T30* - - T30* - -", meter=(6, 8)))["notes"] == 1


def test_the_index_is_the_sum_of_the_parts_by_their_weights(solo):
    found = difficulty(solo("T42,s44 - M17* - - M10* - -"))
    weights = {name: part.weight for name, part in PARTS.items()}

    assert found.index == pytest.approx(sum(weights[name] * value for name, value in found.parts.values.items()))
    assert found.index > found.parts.values["notes"]


def test_each_measure_has_its_own(solo):
    found = difficulty(solo("T30* -", "T30* - T32* - T33*,h34 - M18* -", "- - - -", first=0))

    assert [each.number for each in found.measures] == [0, 1, 2]
    assert [round(each.parts.values["notes"], 3) for each in found.measures] == [1, 1.25, 0]
    assert [each.parts.largest for each in found.measures] == ["notes", "left-hand travel", "notes"]


def test_the_measures_make_up_the_whole(solo):
    found = difficulty(solo("T30* - T32* - T33*,h34 - M18* -", "T30 I20 M10 T50d T40 I20 T50d M10"))

    assert found.index == pytest.approx(sum(each.parts.index for each in found.measures) / 2)


@pytest.mark.parametrize("tier", ["beginner", "advanced"])
def test_the_tier_is_not_looked_at(solo, tier):
    arrangement = solo("T42*,s44 I21 M12 T50d T42 I21 T50d M12")
    other = replace(arrangement, tier=tier, measures=tuple(replace(m, tier=tier) for m in arrangement.measures))

    assert difficulty(other) == difficulty(arrangement)


def test_every_part_has_a_unit_a_sentence_and_a_weight():
    assert all(part.weight > 0 and part.unit and part.sentence.endswith(".") for part in PARTS.values())


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_the_tiers_of_the_demo_tunes_rise(demo_solos, name):
    low, middle, high = (difficulty(each).index for each in demo_solos(name).values())

    assert low < middle < high


TOKENS = st.sampled_from(["T30*", "T32", "T42*", "T50d", "I20*", "I21", "I33", "M10", "M12*", "M14", "-", "-"])
ROWS = st.lists(TOKENS, min_size=8, max_size=8)


def index_of(solo, row, later):
    """The index of a measure, and of the solo of it and another."""
    found = difficulty(solo(" ".join(row), " ".join(later)))
    return found.measures[0].parts.index, found.index


@given(row=ROWS, later=ROWS, slot=st.integers(0, 7), fret=st.integers(1, 15))
def test_a_shift_never_lowers_it(solo, row, later, slot, fret):
    """Where a slot was free, or its string open, a note is stopped anywhere along the neck."""
    stopped = {"-": f"M1{fret}", "T30*": f"T3{fret}*", "I20*": f"I2{fret}*", "M10": f"M1{fret}"}.get(
        row[slot], row[slot]
    )
    shifted = [*row[:slot], stopped, *row[slot + 1 :]]
    before, after = index_of(solo, row, later), index_of(solo, shifted, later)

    assert all(a >= b - 1e-9 for a, b in zip(after, before, strict=True))


@given(
    row=ROWS,
    later=ROWS,
    slot=st.integers(0, 7),
    picked=st.sampled_from(["T30", "T50", "T40", "I20", "I30", "M10", "M20"]),
)
def test_a_crossing_never_lowers_it(solo, row, later, slot, picked):
    """A finger goes to another string in a slot where it rested."""
    crossed = [*row[:slot], picked if row[slot] == "-" else row[slot], *row[slot + 1 :]]
    before, after = index_of(solo, row, later), index_of(solo, crossed, later)

    assert all(a >= b - 1e-9 for a, b in zip(after, before, strict=True))


@given(row=ROWS, later=ROWS, slot=st.integers(0, 7), fret=st.integers(1, 9), how=st.sampled_from("hps"))
def test_a_slur_never_lowers_it(solo, row, later, slot, fret, how):
    """A note is slurred from one that was picked; a melody note goes on to what is slurred."""
    token = row[slot]
    if token == "-" or token[1] == "5":
        return
    slurred = [*row[:slot], f"{token.rstrip('*')},{how}{token[1]}{fret}{'*' * token.endswith('*')}", *row[slot + 1 :]]
    before, after = index_of(solo, row, later), index_of(solo, slurred, later)

    assert all(a > b for a, b in zip(after, before, strict=True))
