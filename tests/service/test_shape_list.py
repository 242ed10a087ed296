"""Chord shapes for the pad."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import InputError
from coach.instrument.tuning import TUNINGS
from coach.service.shape_list import MOST_CHORDS, read_asked, shapes_json

OPEN_G = "62,59,55,50,67"
# Pitch classes above the root, from music theory: triads and the dominant seventh.
STEPS = {"": {0, 4, 7}, "m": {0, 3, 7}, "7": {0, 4, 7, 10}}
ROOTS = {"C": 0, "D": 2, "E": 4, "F": 5, "F#": 6, "G": 7, "A": 9, "Bb": 10, "B": 11}


def asked(**query: str) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(shapes_json(read_asked(query)))
    return answer


def test_the_chords_of_a_tune_come_first_in_their_order_and_the_others_of_every_day_after_them() -> None:
    answer = asked(strings=OPEN_G, chords="D7,G,C,G")

    # Strings 4 3 2 1; common practice, no source.
    assert answer["shapes"] == [
        {"chord": "D7", "frets": [0, 2, 1, 0]},
        {"chord": "G", "frets": [0, 0, 0, 0]},
        {"chord": "C", "frets": [2, 0, 1, 2]},
    ]
    assert {"chord": "Em", "frets": [2, 0, 0, 2]} in answer["more"]
    assert not {"D7", "G", "C"} & {each["chord"] for each in answer["more"]}


def test_without_chords_those_of_every_day_are_there() -> None:
    answer = asked(strings=OPEN_G)

    assert answer["shapes"] == []
    assert answer["more"][0]["chord"] == "G"


def test_a_name_that_is_no_chord_is_left_out() -> None:
    assert [each["chord"] for each in asked(strings=OPEN_G, chords="Q,Am,N.C.")["shapes"]] == ["Am"]


@pytest.mark.parametrize("tuning", TUNINGS.values(), ids=str)
def test_every_shape_sounds_nothing_but_its_chord(tuning: Any) -> None:
    for each in asked(strings=",".join(map(str, tuning.strings)))["more"]:
        root = each["chord"].rstrip("m7")
        tones = {(ROOTS[root] + step) % 12 for step in STEPS[each["chord"][len(root) :]]}
        sounding = {
            (tuning.strings[string - 1] + fret) % 12
            for string, fret in zip((4, 3, 2, 1), each["frets"], strict=True)
            if fret is not None
        }

        assert sounding
        assert sounding <= tones, each


@given(st.lists(st.integers(24, 96), min_size=5, max_size=5))
def test_any_tuning_gets_shapes_within_the_span_of_a_hand(strings: list[int]) -> None:
    answer = asked(strings=",".join(map(str, strings)), chords="G,Am,D7")

    assert answer["strings"] == strings
    for each in answer["shapes"]:
        fretted = [fret for fret in each["frets"] if fret]
        assert max(fretted, default=0) - min(fretted, default=0) <= 3


@pytest.mark.parametrize(
    "query",
    [
        {},
        {"strings": "62,59,55,50"},
        {"strings": "62,59,55,50,67,70"},
        {"strings": "62,59,55,50,high"},
        {"strings": "62,59,55,50,97"},
        {"strings": OPEN_G, "chords": ",".join(["G"] * (MOST_CHORDS + 1))},
        {"strings": OPEN_G, "chords": "G" * 25},
    ],
)
def test_what_cannot_be_meant_is_refused_in_a_sentence(query: dict[str, str]) -> None:
    with pytest.raises(InputError, match="these shapes cannot be asked for"):
        read_asked(query)
