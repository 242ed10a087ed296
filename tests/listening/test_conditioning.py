"""Each reason at its limit, just under and just over it, heard by a whole listener."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import Bend, HeardNote, Sound
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult


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
