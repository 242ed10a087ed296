"""Right-hand and left-hand rules: common practice, no source."""

from itertools import combinations

import pytest

from coach.instrument.hands import may_pick, only_on, pinch_fingers, pinch_is_legal, span
from coach.instrument.tuning import DOUBLE_C, OPEN_G


@pytest.mark.parametrize(("finger", "strings"), [("T", {5, 4, 3, 2}), ("I", {4, 3, 2}), ("M", {2, 1})])
def test_each_finger_has_its_strings(finger, strings):
    assert {string for string in range(1, 6) if may_pick(finger, string)} == strings


@pytest.mark.parametrize(
    ("strings", "fingers"),
    [
        ((5, 1), {5: "T", 1: "M"}),
        ((3, 1), {3: "T", 1: "M"}),
        ((4, 1), {4: "T", 1: "M"}),
        ((5, 2), {5: "T", 2: "I"}),
        ((2, 1), {2: "T", 1: "M"}),
        ((5, 2, 1), {5: "T", 2: "I", 1: "M"}),
        ((4, 3, 1), {4: "T", 3: "I", 1: "M"}),
    ],
)
def test_pinches_take_thumb_below_and_middle_above(strings, fingers):
    assert pinch_fingers(strings) == fingers


@pytest.mark.parametrize("strings", [(1,), (5, 4, 3, 1)])
def test_one_string_or_four_are_no_pinch(strings):
    assert pinch_fingers(strings) is None


def test_every_pinch_offered_is_legal():
    for size in (2, 3):
        for strings in combinations(range(1, 6), size):
            fingers = pinch_fingers(strings)
            assert fingers is None or pinch_is_legal(fingers)


@pytest.mark.parametrize(
    "fingers",
    [
        {5: "T", 1: "T"},  # one finger twice
        {5: "M", 1: "T"},  # thumb above
        {3: "I", 1: "M"},  # no thumb
        {5: "T", 1: "I"},  # the index does not play string 1
        {4: "T", 2: "M", 3: "T"},
        {5: "T"},
    ],
)
def test_crooked_pinches_are_refused(fingers):
    assert not pinch_is_legal(fingers)


@pytest.mark.parametrize(
    ("string", "pitches", "alone"),
    [
        (1, (66, 66), True),  # F#4 only at string 1 fret 4
        (1, (66, 67), False),  # G4 is the open fifth string too
        (1, (64, 62), False),  # E4 is string 2 fret 5 too
        (4, (52, 53), True),
        (3, (57, 58), True),
        (4, (52, 55), False),
    ],
)
def test_only_pitches_without_another_place_may_stay_on_their_string(string, pitches, alone):
    assert only_on(OPEN_G, string, pitches) is alone


def test_the_same_string_rule_looks_at_the_tuning_and_the_capo():
    assert only_on(DOUBLE_C, 1, (65, 66)) is False
    assert only_on(OPEN_G, 1, (68, 68), capo=2) is True


@pytest.mark.parametrize(
    ("frets", "reach"), [((), 0), ((0, 0), 0), ((2,), 0), ((0, 5), 0), ((2, 5), 3), ((1, 0, 5), 4)]
)
def test_the_span_leaves_open_strings_out(frets, reach):
    assert span(frets) == reach
