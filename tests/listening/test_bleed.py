from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.listening.bleed import is_bleed_of
from coach.listening.heard import HeardNote

TRUE = HeardNote(0.0, 62, 80, 2, 2)


def bled(string: int | None, velocity: int = 30, pitch: int = 62) -> HeardNote:
    return HeardNote(0.01, pitch, velocity, string or 1, string)


@pytest.mark.parametrize(("velocity", "bleeds"), [(39, True), (40, True), (41, False)])
def test_bleed_is_at_most_half_as_loud_as_the_true_note(velocity: int, bleeds: bool) -> None:
    assert is_bleed_of(bled(3, velocity), TRUE) == bleeds


@pytest.mark.parametrize(
    ("string", "bleeds"), [(1, True), (2, False), (3, True), (4, False), (5, False), (None, False)]
)
def test_bleed_is_on_a_neighbouring_string(string: int | None, bleeds: bool) -> None:
    assert is_bleed_of(bled(string), TRUE) == bleeds


def test_the_short_fifth_string_lies_beside_the_fourth_and_not_the_first() -> None:
    true = replace(TRUE, string=5)

    assert is_bleed_of(bled(4), true)
    assert not is_bleed_of(bled(1), true)


def test_bleed_has_the_pitch_of_the_true_note() -> None:
    assert not is_bleed_of(bled(3, pitch=63), TRUE)


def test_nothing_bleeds_from_a_string_that_is_not_known() -> None:
    assert not is_bleed_of(bled(3), replace(TRUE, string=None))


notes = st.builds(
    HeardNote,
    st.just(0.0),
    st.integers(60, 62),
    st.integers(1, 127),
    st.just(1),
    st.sampled_from([None, 1, 2, 3, 4, 5]),
)


@given(notes, notes)
def test_of_two_notes_at_most_one_bleeds_from_the_other_and_it_is_the_softer(one: HeardNote, two: HeardNote) -> None:
    if is_bleed_of(one, two):
        assert not is_bleed_of(two, one)
        assert one.velocity < two.velocity
