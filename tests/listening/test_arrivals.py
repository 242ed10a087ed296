"""Slurs by bends, and note-ons that only sound them once more."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from one_pass import hear, note, reasons

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import Bend, HeardNote, NoteEnd
from coach.listening.traits import PLUCK, Traits


# The slide of the fixture: G (55) is 300 cents above E (52); within 50 cents of it are bends of 250 and up.
@pytest.mark.parametrize(("cents", "shown"), [(249.9, False), (250.0, True), (350.0, True), (350.1, False)])
def test_a_bend_sounds_a_slurred_note_within_50_cents(cents: float, shown: bool, slide: Arrangement) -> None:
    result = hear(slide, note(0, 52), Bend(1.02, cents), slurs_shown=True)

    assert result.notes[1].verdict == ("on time" if shown else "missed")
    assert result.notes[1].offset == (20_000 if shown else None)


@pytest.mark.parametrize(("ms", "shown"), [(1, True), (1300, True), (1301, False)])
def test_a_bend_counts_from_the_pick_to_the_end_of_the_slurs_window(ms: int, shown: bool, slide: Arrangement) -> None:
    result = hear(slide, note(0, 52), Bend(ms / 1000, 300.0), slurs_shown=True)

    assert (result.notes[1].verdict == "on time") == shown


def test_a_bend_moves_the_last_note_of_its_channel(slide: Arrangement) -> None:
    other = hear(slide, note(0, 52), note(500, 53), Bend(1.0, 200.0), slurs_shown=True)
    told = hear(slide, note(0, 52, 80, 4), note(500, 53, 80, 3), Bend(1.0, 300.0, 4, 4), slurs_shown=True)
    elsewhere = hear(slide, note(0, 52, 80, 4), note(5, 52, 80, 3), Bend(1.0, 300.0, 3, 3), slurs_shown=True)

    assert other.notes[1].verdict == "on time"
    assert told.notes[1].verdict == "on time"
    assert elsewhere.notes[1].verdict == "missed"


@pytest.mark.parametrize(
    ("added", "verdict"),
    [
        (note(930, 64, 40), "on time"),  # the octave of what was picked
        (note(930, 64, 90), "wrong note"),  # as loud as that: a note that the bend moves
        (note(930, 59, 39), "on time"),  # below the gate
        (note(930, 59, 40), "wrong note"),
    ],
)
def test_a_bend_moves_no_note_that_the_instrument_added(added: HeardNote, verdict: str, slide: Arrangement) -> None:
    louder = Traits().learned([80] * 20, [])  # the gate is 40
    result = hear(slide, note(900, 52), added, Bend(0.95, 300.0), slurs_shown=True, traits=louder)

    assert result.notes[1].verdict == verdict


def test_a_bend_moves_what_is_written_however_soft_it_is(slide: Arrangement) -> None:
    louder = Traits().learned([80] * 20, [])
    result = hear(slide, note(0, 62), note(20, 52, 10), Bend(0.95, 300.0), slurs_shown=True, traits=louder)

    assert result.notes[1].verdict == "on time"


@pytest.mark.parametrize(("ms", "verdict"), [(20, "on time"), (21, "missed")])
def test_a_bend_moves_no_blip(ms: int, verdict: str, slide: Arrangement) -> None:
    holding = Traits().learned([], [PLUCK + 1] * 20)
    blip = (note(500, 61), NoteEnd((500 + ms) / 1000, 61))
    result = hear(slide, note(0, 52), *blip, Bend(0.95, 300.0), slurs_shown=True, traits=holding)

    assert result.notes[1].verdict == verdict


@pytest.mark.parametrize(("velocity", "verdict"), [(40, "on time"), (41, "wrong note")])
def test_a_bend_moves_no_bleed(velocity: int, verdict: str, slide: Arrangement) -> None:
    other = (note(900, 59, 80, 3), note(905, 59, velocity, 4))
    result = hear(slide, note(0, 52, 80, 4), *other, Bend(0.95, 300.0, 4, 4), slurs_shown=True)

    assert result.notes[1].verdict == verdict


def test_a_bend_moves_no_finger_lifted_from_another_string(solo: Callable[..., Arrangement]) -> None:
    two = solo([("0", 3, 2), ("1", 4, 2), ("2", 4, 5, {"technique": "slide", "from_fret": 2})])
    picks = (note(0, 57), note(1000, 52))

    soft = hear(two, *picks, note(1400, 55, 40), Bend(1.9, 300.0), slurs_shown=True)
    loud = hear(two, *picks, note(1400, 55, 41), Bend(1.9, 300.0), slurs_shown=True)
    assert (reasons(soft), soft.notes[2].verdict) == (["soft open string"], "on time")
    assert (reasons(loud), loud.notes[2].verdict) == ([], "missed")


def test_a_bend_moves_the_open_string_that_a_finger_left_where_strings_are_told(slide: Arrangement) -> None:
    result = hear(slide, note(0, 52, 80, 4), note(400, 50, 40, 4), Bend(0.95, 500.0, 4, 4), slurs_shown=True)

    assert (reasons(result), result.notes[1].verdict) == (["soft open string"], "on time")


def test_what_was_added_is_told_by_what_was_sent_before_the_bend(slide: Arrangement) -> None:
    # The octave below comes only behind the bend.
    result = hear(slide, note(0, 52), note(900, 71, 40), Bend(0.91, 300.0), note(920, 59), slurs_shown=True)

    assert reasons(result) == ["octave ghost"]
    assert result.notes[1].verdict == "wrong note"


def test_a_bend_and_a_new_note_on_sound_one_slur(slide: Arrangement) -> None:
    result = hear(slide, note(0, 52), Bend(0.95, 300.0), note(1000, 55))

    assert result.notes[1].verdict == "on time"
    assert result.extras == ()


# Re-triggers. The slide of the fixture goes from E (52) to G (55), 300 cents, on the fourth string at 1000 ms.


@pytest.mark.parametrize(("ms", "expected"), [(499, []), (500, []), (501, ["re-triggered slur"])])
def test_a_note_of_the_target_after_the_bend_has_arrived_is_the_same_slur(
    ms: int, expected: list[str], slide: Arrangement
) -> None:
    result = hear(slide, note(0, 52), note(ms, 55, 90), Bend(0.5, 300.0), slurs_shown=True)

    assert reasons(result) == expected
    # Sounded before, it would be what the bend moves, and that to no pitch of the slur.
    assert result.notes[1].verdict == ("on time" if expected else "missed")


@pytest.mark.parametrize(("ms", "expected"), [(599, 1), (600, 1), (601, 0)])
def test_it_comes_within_100_ms_of_the_bends_arrival(ms: int, expected: int, slide: Arrangement) -> None:
    result = hear(slide, note(0, 52), Bend(0.5, 300.0), note(ms, 55, 90), slurs_shown=True)

    assert reasons(result) == ["re-triggered slur"] * expected
    assert len(result.extras) == 1 - expected


@pytest.mark.parametrize(("cents", "expected"), [(249.9, 0), (250.0, 1), (350.0, 1), (350.1, 0)])
def test_the_source_sounded_anew_while_it_is_bent_is_the_same_slur(
    cents: float, expected: int, slide: Arrangement
) -> None:
    result = hear(slide, note(0, 52), Bend(0.98, 300.0), Bend(0.99, cents), note(1010, 52, 90), slurs_shown=True)

    assert reasons(result) == ["re-triggered slur"] * expected
    assert len(result.extras) == 1 - expected
    assert result.notes[1].verdict == "on time"


def test_the_source_sounded_anew_when_the_bend_is_over_is_another_note(slide: Arrangement) -> None:
    result = hear(slide, note(0, 52), Bend(0.98, 300.0), Bend(0.99, 0.0), note(1010, 52, 90), slurs_shown=True)

    assert (reasons(result), len(result.extras)) == ([], 1)


def test_a_slur_is_sounded_anew_on_its_own_channel_only(slide: Arrangement) -> None:
    sounds = (note(0, 52, 80, 4), Bend(0.5, 300.0, 4, 4))

    assert reasons(hear(slide, *sounds, note(510, 55, 90, 4), slurs_shown=True)) == ["re-triggered slur"]
    assert reasons(hear(slide, *sounds, note(510, 55, 90, 3), slurs_shown=True)) == []


def test_a_note_that_is_written_there_is_no_slur_sounded_anew(solo: Callable[..., Arrangement]) -> None:
    # The open third string is written where the slide to its pitch has just arrived.
    both = solo([("0", 4, 2), ("1/2", 3, 0), ("1", 4, 5, {"technique": "slide", "from_fret": 2})])
    result = hear(both, note(0, 52), Bend(0.49, 300.0), note(500, 55), slurs_shown=True)

    assert reasons(result) == []
    assert [verdict.verdict for verdict in result.notes] == ["on time"] * 3
