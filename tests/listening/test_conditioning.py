"""Each reason at its limit, just under and just over it, heard by a whole listener."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from one_pass import hear, note, reasons

from coach.arranging.arrangement import Arrangement


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


@pytest.fixture
def refretted(solo: Callable[..., Arrangement]) -> Arrangement:
    """The fourth string at the second fret, then twice at the third, in quarters."""
    return solo([("0", 4, 2), ("1", 4, 3), ("2", 4, 3)])


@pytest.mark.parametrize("ms", [700, 950, 1100])
@pytest.mark.parametrize("string", [None, 4])
def test_a_finger_may_be_lifted_near_the_next_pluck_of_its_string(
    ms: int, string: int | None, refretted: Arrangement
) -> None:
    result = hear(refretted, note(0, 52, 80, string), note(ms, 50, 40, string), note(1120, 53, 80, string))

    assert reasons(result) == ["soft open string"]
    assert result.extras == ()


def test_a_finger_lifted_near_the_next_pluck_was_heard_and_louder(refretted: Arrangement) -> None:
    assert reasons(hear(refretted, note(950, 50, 40), note(1000, 53))) == []
    assert reasons(hear(refretted, note(0, 52), note(950, 50, 41), note(1000, 53))) == []
    assert reasons(hear(refretted, note(0, 53), note(950, 50, 40), note(1000, 53))) == []


def test_a_finger_that_left_its_string_at_the_place_before_is_not_lifted_again(refretted: Arrangement) -> None:
    assert reasons(hear(refretted, note(0, 52), note(1950, 50, 40), note(2000, 53))) == []


def test_an_open_string_that_is_expected_is_no_lifted_finger(solo: Callable[..., Arrangement]) -> None:
    soft = solo([("0", 4, 2), ("1", 4, 0)])

    assert reasons(hear(soft, note(0, 52, 100), note(1000, 50, 10))) == []


def test_a_lifted_finger_counts_the_capo(solo: Callable[..., Arrangement]) -> None:
    high = solo([("0", 4, 2), ("3", 3, 0)], capo=2)

    assert reasons(hear(high, note(0, 54, 80), note(200, 52, 10))) == ["soft open string"]
    assert reasons(hear(high, note(0, 54, 80), note(200, 50, 10))) == []


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
