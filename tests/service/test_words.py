"""A pass in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from coach.listening.heard import HeardNote
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult
from coach.service.words import CAUTIONS, sentences_on

TEMPO = 120.0


@pytest.fixture
def played(solos: Any, as_written: Any) -> Any:
    """Plays the beginner's solo: all notes but those left out, each moved by some seconds."""

    def play(leave_out: Sequence[int] = (), moved: Any = lambda _: 0.0, wrong: Sequence[int] = ()) -> PassResult:
        listener = Listener(PassPlan(solos["beginner"].arrangement, TEMPO, origin=10.0))
        for index, (seconds, data) in enumerate(as_written(solos["beginner"], TEMPO)):
            if index not in leave_out:
                pitch = data[1] + (1 if index in wrong else 0)
                stamp = 10.0 + seconds + moved(index)
                listener.hear(HeardNote(stamp, pitch, 90, 1, (data[0] & 0x0F) + 1, index))
        listener.finish()
        assert listener.result is not None
        return listener.result

    return play


def test_a_clean_pass_needs_one_sentence(played: Any) -> None:
    assert sentences_on(played()) == ["Every measure is clean."]


def test_silence_is_said(played: Any) -> None:
    assert sentences_on(played(leave_out=range(100))) == ["Nothing was heard in this pass."]


def test_what_cost_most_is_said_with_its_place(played: Any) -> None:
    assert sentences_on(played(leave_out=(4, 5, 9), wrong=(1, 2))) == [
        "1 of 4 measures is clean; not 1, 2 and 3.",
        "3 notes were missed, most of them in measure 2.",
        "2 notes were wrong, in measure 1.",
    ]


def test_measures_are_named_unless_all_or_none_are_clean(played: Any) -> None:
    assert sentences_on(played(leave_out=(4, 5)))[0] == "3 of 4 measures are clean; not 2."
    assert sentences_on(played(wrong=range(0, 100, 2)))[0] == "None of the 4 measures is clean."


def test_faults_of_which_no_measure_has_most_are_said_with_all_their_measures(played: Any) -> None:
    assert "2 notes were missed, in measures 1 and 2." in sentences_on(played(leave_out=(1, 4)))


def test_a_pass_that_was_not_played_to_its_end_is_said(played: Any) -> None:
    assert sentences_on(played(leave_out=range(4, 100)))[0] == (
        "The pass was not played to its end; 1 of 4 measures is clean."
    )


def test_leaning_scattering_and_drifting_are_told_apart(played: Any) -> None:
    assert "On average you play 20 ms ahead of the click." in sentences_on(played(moved=lambda _: -0.02))
    assert "On average you play 20 ms behind the click." in sentences_on(played(moved=lambda _: 0.02))
    scattered = sentences_on(played(moved=lambda index: 0.045 * (-1) ** index))
    assert "The notes scatter by 45 ms: let the click carry you." in scattered
    faster = sentences_on(played(moved=lambda index: 0.06 - 0.008 * index))
    assert any(sentence.startswith("You grow faster than the click, by ") for sentence in faster)


def test_the_cautions_are_two() -> None:
    assert len(CAUTIONS) == 2
