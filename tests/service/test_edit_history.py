"""Edits as they came to be: back, forth, and what a change does to what was taken back."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import hypothesis.strategies as st
from hypothesis import given

from coach.arranging.edits import Edits, LeaveOut
from coach.service.edit_history import History, kept_history

NONE = Edits("lane")


def some(count: int) -> Edits:
    """Edits that are told apart by how many they are."""
    return replace(NONE, edits=tuple(LeaveOut("beginner", 1, Fraction(k), 1) for k in range(count)))


steps = st.lists(st.one_of(st.integers(1, 5).map(some), st.sampled_from(["back", "forth"])), max_size=20)


@given(steps)
def test_it_is_a_list_with_a_finger_in_it(taken: list[Edits | str]) -> None:
    history = History((NONE,))
    values, place = [NONE], 0
    for step in taken:
        if step == "back":
            history, place = history.back(), max(0, place - 1)
        elif step == "forth":
            history, place = history.forth(), min(len(values) - 1, place + 1)
        elif isinstance(step, Edits):
            history = history.then(step)
            values, place = [*values[: place + 1], step], place + 1

        assert history.now == values[place]
        assert history.older == (values[place - 1] if place else None)
        assert history.newer == (values[place + 1] if place + 1 < len(values) else None)


@given(st.lists(st.integers(1, 5).map(some), min_size=1, max_size=20))
def test_so_many_steps_back_give_the_first_value(made: list[Edits]) -> None:
    history = History((NONE,))
    for edits in made:
        history = history.then(edits)
    for _ in made:
        history = history.back()
    assert history.now == NONE
    for _ in made:
        history = history.forth()
    assert history.now == made[-1]


def test_two_hundred_values_are_remembered() -> None:
    history = History((NONE,))
    for count in range(199):
        history = history.then(some(count % 2 + 1))
    assert len(history.values) == 200
    assert history.values[0] == NONE

    history = history.then(some(3))
    assert len(history.values) == 200
    assert history.values[0] != NONE
    assert (history.now, history.older) == (some(3), some(1))


def test_every_change_is_a_step_more_also_when_the_first_are_forgotten() -> None:
    history = History((NONE,))
    for count in range(205):
        assert history.steps == count
        history = history.then(some(count % 2 + 1))
    assert history.back().steps == 204
    assert history.back().forth().steps == 205
    assert kept_history(some(250)).steps == 250


def test_what_was_kept_can_be_taken_back_edit_by_edit() -> None:
    history = kept_history(some(3))
    assert history.now == some(3)
    assert history.back().now == some(2)
    assert history.back().back().back().older is None
    assert history.values[0] == NONE


def test_of_very_many_that_were_kept_the_last_can_be_taken_back() -> None:
    history = kept_history(some(250))
    assert (len(history.values), history.now) == (200, some(250))
    assert history.values[0] == some(51)
