"""Each reason at its limit, just under and just over it, heard by a whole listener."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import Bend, HeardNote, NoteEnd, Sound, StrayNote
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult
from coach.listening.traits import PLUCK, Traits

LOUD = Traits().learned([80] * 20, [])  # the gate is 32
HOLDING = Traits().learned([], [PLUCK + 1] * 20)
NEW = ("bleed", "re-triggered slur", "too short", "below the gate", "other channel")


def hear(solo: Arrangement, *sounds: Sound, tempo: float = 60.0, **plan: object) -> PassResult:
    listener = Listener(PassPlan(solo, tempo, **plan))
    for seq, sound in enumerate(sounds, 1):
        listener.take(type(sound)(**{**{name: getattr(sound, name) for name in sound.__slots__}, "seq": seq}))
    listener.finish()
    assert listener.result is not None
    return listener.result


def reasons(result: PassResult) -> list[str]:
    return [dropped.reason for dropped in result.dropped]


def note(ms: float, pitch: int, velocity: int = 80, string: int | None = None) -> HeardNote:
    return HeardNote(ms / 1000, pitch, velocity, string or 1, string)


@pytest.fixture
def third(solo: Callable[..., Arrangement]) -> Arrangement:
    """The open third string on the first beat, then a fretted one, in quarters."""
    return solo([("0", 3, 0), ("1", 4, 2), ("3", 3, 0)])


@pytest.mark.parametrize(("gap", "expected"), [(39, ["octave ghost"]), (40, ["octave ghost"]), (41, [])])
@pytest.mark.parametrize("side", [1, -1])
def test_an_octave_ghost_comes_within_40_ms_of_its_true_note(
    gap: int, expected: list[str], side: int, third: Arrangement
) -> None:
    result = hear(third, note(0, 55), note(side * gap, 67, 79))

    assert reasons(result) == expected
    assert len(result.extras) == 1 - len(expected)


@pytest.mark.parametrize(("velocity", "expected"), [(79, ["octave ghost"]), (80, []), (81, [])])
def test_an_octave_ghost_is_softer_than_its_true_note(velocity: int, expected: list[str], third: Arrangement) -> None:
    assert reasons(hear(third, note(0, 55), note(20, 67, velocity))) == expected


@pytest.mark.parametrize(("string", "expected"), [(3, ["octave ghost"]), (5, [])])
def test_an_octave_ghost_is_on_its_true_notes_string_where_strings_are_told(
    string: int, expected: list[str], third: Arrangement
) -> None:
    assert reasons(hear(third, note(0, 55, 80, 3), note(20, 67, 40, string))) == expected


def test_an_expected_octave_is_no_ghost(solo: Callable[..., Arrangement]) -> None:
    result = hear(solo([("0", 5, 0), ("0", 3, 0)]), note(0, 55), note(20, 67, 40))

    assert result.dropped == ()
    assert [verdict.verdict for verdict in result.notes] == ["on time", "on time"]


@pytest.mark.parametrize(("gap", "expected"), [(39, ["soft double"]), (40, ["soft double"]), (41, [])])
@pytest.mark.parametrize("string", [None, 3])
def test_a_soft_double_comes_within_40_ms(
    gap: int, expected: list[str], string: int | None, third: Arrangement
) -> None:
    assert reasons(hear(third, note(0, 55, 80, string), note(gap, 55, 50, string))) == expected


def test_of_two_doubles_the_louder_is_kept_and_of_equals_the_first(third: Arrangement) -> None:
    louder = hear(third, note(0, 55, 50), note(30, 55, 80))
    equal = hear(third, note(0, 55, 80), note(30, 55, 80))

    assert (reasons(louder), louder.notes[0].offset) == (["soft double"], 30_000)
    assert (reasons(equal), equal.notes[0].offset) == (["soft double"], 0)


def test_the_same_pitch_on_another_string_is_no_double(third: Arrangement) -> None:
    assert reasons(hear(third, note(0, 55, 80, 3), note(20, 55, 50, 4))) == []


def test_two_plucks_of_one_pitch_are_no_doubles_where_strings_are_not_told(solo: Callable[..., Arrangement]) -> None:
    unison = solo([("0", 5, 0), ("0", 1, 5)])

    assert reasons(hear(unison, note(0, 67, 80), note(20, 67, 50))) == []
    assert reasons(hear(unison, note(0, 67, 80, 5), note(20, 67, 50, 5))) == ["soft double"]


def test_one_pitch_at_two_close_places_is_no_double_where_strings_are_not_told(
    solo: Callable[..., Arrangement],
) -> None:
    # A slide to the pitch of the open third string, which follows 36 ms later.
    close = solo([("0", 4, 2), ("1", 4, 5, {"technique": "slide", "from_fret": 2}), ("1036/1000", 3, 0)])

    both = hear(close, note(0, 52), note(1000, 55, 60), note(1036, 55, 80))
    assert [verdict.verdict for verdict in both.notes] == ["on time"] * 3
    assert reasons(hear(close, note(0, 52), note(1000, 55, 60), note(1010, 55, 80))) == ["soft double"]


@pytest.fixture
def slide(solo: Callable[..., Arrangement]) -> Arrangement:
    """String 4 from fret 2 to 5, a second apart (E to G), then a rest and string 1."""
    return solo([("0", 4, 2), ("1", 4, 5, {"technique": "slide", "from_fret": 2}), ("3", 1, 0)])


@pytest.mark.parametrize(("pitch", "expected"), [(52, []), (53, ["passing"]), (54, ["passing"]), (56, [])])
def test_passing_is_strictly_between_the_two_pitches_of_a_slide(
    pitch: int, expected: list[str], slide: Arrangement
) -> None:
    assert reasons(hear(slide, note(0, 52), note(800, pitch), note(1000, 55))) == expected


@pytest.mark.parametrize(
    ("ms", "expected"),
    [(-1, []), (1, ["passing"]), (300, ["passing"]), (301, []), (700, ["passing"]), (1300, ["passing"]), (1301, [])],
)
def test_passing_lies_at_the_places_of_the_slide_after_its_first_note(
    ms: int, expected: list[str], slide: Arrangement
) -> None:
    assert reasons(hear(slide, note(0, 52), note(ms, 54, 70))) == expected


def test_nothing_is_passing_before_the_first_note_of_the_slide_was_heard(slide: Arrangement) -> None:
    result = hear(slide, note(0, 54), note(1000, 55))

    assert reasons(result) == []
    assert result.notes[0].verdict == "wrong note"


def test_passing_is_on_the_string_of_the_slide_where_strings_are_told(slide: Arrangement) -> None:
    assert reasons(hear(slide, note(0, 52, 80, 4), note(900, 54, 80, 3), note(900, 53, 80, 4))) == ["passing"]


def test_a_hammer_on_has_nothing_passing(solo: Callable[..., Arrangement]) -> None:
    hammered = solo([("0", 4, 0), ("1", 4, 2, {"technique": "hammer-on", "from_fret": 0})])

    assert reasons(hear(hammered, note(0, 50), note(900, 51))) == []


@pytest.mark.parametrize(("velocity", "expected"), [(39, ["soft open string"]), (40, ["soft open string"]), (41, [])])
def test_a_lifted_finger_sounds_its_open_string_at_most_half_as_loud(
    velocity: int, expected: list[str], third: Arrangement
) -> None:
    assert reasons(hear(third, note(1000, 52, 80), note(1200, 50, velocity))) == expected


def test_a_lifted_finger_must_have_been_heard_and_on_its_string(third: Arrangement) -> None:
    assert reasons(hear(third, note(1200, 50, 10))) == []
    assert reasons(hear(third, note(1000, 52, 80, 4), note(1200, 50, 10, 3))) == []
    assert reasons(hear(third, note(1000, 52, 80, 4), note(1200, 50, 10, 4))) == ["soft open string"]
    assert reasons(hear(third, note(1000, 52, 80), note(900, 50, 10))) == []


def test_a_lifted_finger_may_sound_between_the_places(third: Arrangement) -> None:
    assert reasons(hear(third, note(1000, 52, 80), note(2000, 50, 10))) == ["soft open string"]


def test_an_open_string_that_is_expected_is_no_lifted_finger(solo: Callable[..., Arrangement]) -> None:
    soft = solo([("0", 4, 2), ("1", 4, 0)])

    assert reasons(hear(soft, note(0, 52, 100), note(1000, 50, 10))) == []


def test_a_lifted_finger_counts_the_capo(solo: Callable[..., Arrangement]) -> None:
    high = solo([("0", 4, 2), ("3", 3, 0)], capo=2)

    assert reasons(hear(high, note(0, 54, 80), note(200, 52, 10))) == ["soft open string"]
    assert reasons(hear(high, note(0, 54, 80), note(200, 50, 10))) == []


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


def test_a_bend_and_a_new_note_on_sound_one_slur(slide: Arrangement) -> None:
    result = hear(slide, note(0, 52), Bend(0.95, 300.0), note(1000, 55))

    assert result.notes[1].verdict == "on time"
    assert result.extras == ()


# Bleed. The notes are the open third string (55), as the pickup of the fourth hears it too.


@pytest.mark.parametrize(("gap", "expected"), [(39, ["bleed"]), (40, ["bleed"]), (41, [])])
@pytest.mark.parametrize("side", [1, -1])
def test_bleed_comes_within_40_ms_of_its_true_note(
    gap: int, expected: list[str], side: int, third: Arrangement
) -> None:
    result = hear(third, note(100, 55, 80, 3), note(100 + side * gap, 55, 30, 4))

    assert reasons(result) == expected
    assert len(result.extras) == 1 - len(expected)


@pytest.mark.parametrize(("velocity", "expected"), [(39, ["bleed"]), (40, ["bleed"]), (41, [])])
def test_bleed_is_at_most_half_as_loud(velocity: int, expected: list[str], third: Arrangement) -> None:
    assert reasons(hear(third, note(0, 55, 80, 3), note(10, 55, velocity, 4))) == expected


@pytest.mark.parametrize(("string", "expected"), [(2, ["bleed"]), (4, ["bleed"]), (1, []), (5, [])])
def test_bleed_is_on_a_neighbouring_string(string: int, expected: list[str], third: Arrangement) -> None:
    assert reasons(hear(third, note(0, 55, 80, 3), note(10, 55, 30, string))) == expected


def test_where_strings_are_not_told_nothing_is_bleed(third: Arrangement) -> None:
    assert reasons(hear(third, note(0, 55, 80), note(10, 55, 30))) == ["soft double"]


def test_an_extra_note_bleeds_too(third: Arrangement) -> None:
    result = hear(third, note(2000, 59, 80, 2), note(2010, 59, 30, 3))

    assert reasons(result) == ["bleed"]
    assert [extra.string for extra in result.extras] == [2]


def test_the_written_note_is_kept_however_loud_its_neighbour_is(third: Arrangement) -> None:
    result = hear(third, note(0, 55, 20, 3), note(10, 55, 120, 4))

    assert reasons(result) == []
    assert (result.notes[0].verdict, len(result.extras)) == ("on time", 1)


def test_a_unison_on_neighbouring_strings_is_kept_where_both_are_written(solo: Callable[..., Arrangement]) -> None:
    unison = solo([("0", 3, 0), ("0", 4, 5)])
    soft = hear(unison, note(0, 55, 80, 3), note(5, 55, 20, 4))
    elsewhere = hear(unison, note(0, 55, 80, 3), note(5, 55, 20, 2))

    assert [verdict.verdict for verdict in soft.notes] == ["on time", "on time"]
    assert reasons(soft) == reasons(elsewhere) == []


def test_a_note_that_is_written_for_another_string_bleeds_only_from_one_at_its_own_place(
    solo: Callable[..., Arrangement],
) -> None:
    # Two places 70 ms apart: the written pitch at the first, and before it a louder one at the second or at none.
    close = solo([("1", 3, 0), ("1070/1000", 1, 0)])

    own = hear(close, note(1000, 55, 80, 3), note(1010, 55, 30, 4))
    other = hear(close, note(1030, 55, 30, 4), note(1050, 55, 80, 3))
    assert reasons(own) == ["bleed"]
    assert reasons(other) == []
    assert other.notes[0].verdict == "other string"


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


# What is learned of player and instrument.


@pytest.mark.parametrize(("velocity", "expected"), [(31, ["below the gate"]), (32, []), (33, [])])
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


@settings(derandomize=True, deadline=None, max_examples=100)
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
