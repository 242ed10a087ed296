"""What is dropped by what else is known: of the player, the instrument and its channels."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from one_pass import hear, note, reasons

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import Bend, HeardNote, NoteEnd, Sound, StrayNote
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.traits import PLUCK, Traits

LOUD = Traits().learned([80] * 20, [])  # the gate is 40
HOLDING = Traits().learned([], [PLUCK + 1] * 20)
NEW = ("bleed", "re-triggered slur", "too short", "below the gate", "other channel")


# What is learned of player and instrument.


@pytest.mark.parametrize(("velocity", "expected"), [(39, ["below the gate"]), (40, []), (41, [])])
def test_below_the_gate_of_the_player(velocity: int, expected: list[str], third: Arrangement) -> None:
    at_a_place = hear(third, note(0, 55), note(100, 61, velocity), traits=LOUD)
    at_none = hear(third, note(0, 55), note(2000, 61, velocity), traits=LOUD)

    assert reasons(at_a_place) == reasons(at_none) == expected
    assert reasons(hear(third, note(0, 55), note(2000, 61, velocity))) == []


def test_what_is_written_is_not_below_the_gate_on_whatever_string(third: Arrangement) -> None:
    result = hear(third, note(0, 55, 1, 3), note(1000, 52, 1, 2), traits=LOUD)

    assert reasons(result) == []
    assert [verdict.verdict for verdict in result.notes] == ["on time", "other string", "missed"]


@pytest.mark.parametrize(("ms", "expected"), [(19, ["too short"]), (20, ["too short"]), (21, [])])
def test_too_short_is_what_ends_within_20_ms_on_an_instrument_that_holds_its_notes(
    ms: int, expected: list[str], third: Arrangement
) -> None:
    for start in (100, 2000):
        sounds = (note(0, 55), note(start, 61), NoteEnd((start + ms) / 1000, 61))
        assert reasons(hear(third, *sounds, traits=HOLDING)) == expected
        assert reasons(hear(third, *sounds)) == []


def test_what_is_written_is_neither_too_soft_nor_too_short_beside_another_note(third: Arrangement) -> None:
    sounds = (note(0, 55, 1), NoteEnd(0.001, 55), note(10, 61, 80))

    assert reasons(hear(third, *sounds, traits=LOUD)) == reasons(hear(third, *sounds, traits=HOLDING)) == []


def test_what_is_written_is_never_too_short(third: Arrangement) -> None:
    result = hear(third, note(0, 55), NoteEnd(0.001, 55), traits=HOLDING)

    assert (reasons(result), result.notes[0].verdict) == ([], "on time")


def test_the_last_note_of_a_pass_may_be_ended_a_little_after_it(solo: Callable[..., Arrangement]) -> None:
    short = solo([("0", 3, 0)], length="1")
    result = hear(short, note(0, 55), note(990, 61), NoteEnd(1.005, 61), traits=HOLDING)

    assert reasons(result) == ["too short"]


def test_a_pass_teaches_the_velocities_and_lengths_of_the_plucks_that_were_played(third: Arrangement) -> None:
    result = hear(
        third,
        note(0, 55, 70),
        NoteEnd(0.005, 55),
        note(1000, 52, 60),
        NoteEnd(2.0, 52),
        note(2000, 61, 5),
        NoteEnd(2.5, 61),
        note(3000, 57, 9),
        traits=Traits().learned([50], [30_000]),
    )

    assert result.traits == Traits().learned([50, 70, 60], [30_000, 5_000, 1_000_000])


# Strays


def test_a_note_on_a_channel_of_no_string_is_dropped_within_the_pass(third: Arrangement) -> None:
    strays = [StrayNote(seconds, 55, 7) for seconds in (-0.001, 0.0, 2.0, 4.0, 4.001)]
    result = hear(third, note(0, 55, 80, 3), *strays)

    assert [(dropped.seconds, dropped.reason) for dropped in result.dropped] == [
        (seconds, "other channel") for seconds in (0.0, 2.0, 4.0)
    ]
    assert (result.extras, result.notes[0].verdict) == ((), "on time")


def test_a_stray_makes_no_other_note_a_ghost_or_a_double(third: Arrangement) -> None:
    result = hear(third, StrayNote(0.0, 43, 7), note(5, 55, 20, 3), StrayNote(0.01, 55, 7))

    assert reasons(result) == ["other channel", "other channel"]
    assert result.notes[0].verdict == "on time"


# Whatever comes, no new reason takes away what is written.

PITCHES = (50, 52, 55, 57, 59, 60, 62, 64, 67, 69)

# Around the places of the solo's first measures, in seconds at 60 quarters a minute, or anywhere.
moments = st.one_of(
    st.tuples(st.sampled_from([0, 250, 1000, 1500, 2000, 3000, 3500, 4000, 4500, 5000]), st.integers(-60, 60)).map(sum),
    st.integers(-100, 13_000),
).map(lambda ms: ms / 1000)

anything = st.lists(
    st.one_of(
        st.builds(
            HeardNote,
            moments,
            st.sampled_from(PITCHES),
            st.integers(1, 127),
            st.just(1),
            st.sampled_from([None, 1, 2, 3, 4, 5]),
        ),
        st.builds(NoteEnd, moments, st.sampled_from(PITCHES)),
        st.builds(Bend, moments, st.sampled_from([0.0, 100.0, 200.0, 300.0, -200.0])),
        st.builds(StrayNote, moments, st.sampled_from(PITCHES), st.just(7)),
    ),
    max_size=30,
)


@settings(derandomize=True, deadline=None, max_examples=40)
@given(sounds=anything, told=st.booleans())
def test_no_note_that_is_expected_at_its_place_is_dropped_for_a_new_reason(
    sounds: list[Sound], told: bool, mixed: Arrangement
) -> None:
    plan = PassPlan(mixed, 60.0, slurs_shown=True, traits=LOUD.learned([], [PLUCK + 1] * 20))
    listener = Listener(plan)
    ordered = sorted(sounds, key=lambda sound: sound.seconds)
    numbered = [
        replace(sound, seq=seq)
        if isinstance(sound, StrayNote)
        else replace(sound, seq=seq, string=sound.string if told else None)
        for seq, sound in enumerate(ordered, 1)
    ]
    for sound in numbered:
        listener.take(sound)
    listener.finish()
    result = listener.result
    assert result is not None
    if result.passages:
        return  # then notes are expected elsewhere than written
    heard_notes = {sound.seq: sound for sound in numbered if isinstance(sound, HeardNote)}
    verdicts = {verdict.pluck.id: verdict for verdict in result.notes}
    for dropped in result.dropped:
        if dropped.reason not in NEW or dropped.reason == "other channel":
            continue
        sound = heard_notes[dropped.seq]
        place = listener.places.at(round(sound.seconds * 1e6))
        written = [pluck for pluck in (place.plucks if place else ()) if pluck.pitch == sound.pitch]
        if dropped.reason == "bleed":
            assert all(pluck.string != sound.string for pluck in written)
            assert all(verdicts[pluck.id].played for pluck in written)
        else:
            assert not written
