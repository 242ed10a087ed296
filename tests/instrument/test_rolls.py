"""Rolls: common practice, no source."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.instrument.hands import may_pick
from coach.instrument.rolls import ROLLS, named_roll

CYCLES = {"TITM": "alternating thumb", "TIM": "forward", "MIT": "backward", "TIMTMITM": "forward-reverse"}


@pytest.mark.parametrize("roll", ROLLS.values(), ids=lambda roll: roll.name)
def test_a_roll_is_named_by_its_own_fingers(roll):
    assert named_roll(roll.fingers) == roll.name
    assert CYCLES[roll.cycle] == roll.name
    assert roll.fingers in roll.cycle * 4


@pytest.mark.parametrize("roll", ROLLS.values(), ids=lambda roll: roll.name)
def test_the_usual_strings_suit_the_fingers_and_never_repeat(roll):
    assert len(roll.strings) == len(roll.fingers) == 8
    assert all(may_pick(finger, string) for finger, string in zip(roll.fingers, roll.strings, strict=True))
    assert all(one != two for one, two in pairwise(roll.strings))


@pytest.mark.parametrize(
    ("fingers", "name"),
    [
        ("TITMTITM", "alternating thumb"),
        ("TIMTIMTI", "forward"),
        ("IMTIMTIM", "forward"),
        ("MTIMTIMT", "forward"),
        ("MITMITMI", "backward"),
        ("ITMITMIT", "backward"),
        ("TIMTMITM", "forward-reverse"),
        ("MITMTIMT", "forward-reverse"),
        ("TIMTIM", "forward"),
        ("TIMTMI", "forward-reverse"),
        ("TITMTI", "alternating thumb"),
        ("T-TMTITM", None),
        ("TI-MTMIT", "forward-reverse"),
        ("TIM-TIMT", "forward"),
        ("TIMTIITM", None),
        ("TITITITI", None),
        ("", None),
        ("--------", None),
    ],
)
def test_a_finger_row_is_a_piece_of_an_endless_roll(fingers, name):
    assert named_roll(fingers) == name


@given(st.sampled_from(sorted(CYCLES)), st.integers(0, 7), st.integers(1, 16))
def test_any_piece_of_a_roll_follows_a_roll(cycle, start, length):
    piece = (cycle * 9)[start : start + length]

    assert named_roll(piece) is not None


@given(st.text(alphabet="TIM", min_size=1, max_size=12))
def test_held_slots_change_nothing(row):
    assert named_roll("-".join(row)) == named_roll(row)


@given(st.text(alphabet="TIM", min_size=2, max_size=12).filter(lambda row: any(a == b for a, b in pairwise(row))))
def test_no_roll_uses_a_finger_twice_running(row):
    assert named_roll(row) is None
