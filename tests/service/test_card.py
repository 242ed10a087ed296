"""A student at a glance: every field of a card, and when a measure holds them up."""

from __future__ import annotations

from functools import reduce
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.service import protocol as wire
from coach.service.card import MOST_STRIPS, STUCK, Seen, card_of, see
from coach.studio.people import Person, StudioName

ANN = Person("ann-1", "Ann", "student", StudioName("mill", "The Mill"))
NOON = "2026-11-26T12:00:00Z"


def state(name: Any = "ready", **changes: Any) -> wire.State:
    """A session as it stands, at a tune of eight measures."""
    plain: dict[str, Any] = {
        "state": name,
        "number": 0,
        "tune": "lane",
        "title": "Test Lane",
        "digest": "d",
        "tier": "beginner",
        "tempo": 60.0,
        "goal": 120.0,
        "floor": 40.0,
        "first": 1,
        "last": 8,
        "measures": 8,
        "bounce": 50,
        "solo_level": 0.0,
        "backing_level": 0.5,
        "click_level": 0.7,
        "keep_going": False,
        "sound": "page",
        "self_marked": False,
        "foot_start": "",
        "foot_again": "",
        "foot_next": "",
        "latency_ms": 0.0,
        "out_delay_ms": 0.0,
        "tolerance_ms": None,
        "string_channels": "auto",
        "rung": None,
    }
    return wire.State(**(plain | changes))


def begin(number: int = 1, **changes: Any) -> wire.Begin:
    plain: dict[str, Any] = {
        "number": number,
        "digest": "d",
        "tempo": 60.0,
        "first": 1,
        "last": 8,
        "sounds": False,
        "origin": None,
        "lead": 2.0,
        "length": 32.0,
        "positions": [],
        "cues": [],
    }
    return wire.Begin(**(plain | changes))


def score(measure: int, *, clean: bool, played: int = 4, wrong: int = 0) -> dict[str, float | int | bool | None]:
    return {"number": measure, "played": played, "wrong": wrong, "clean": clean}


def scored(number: int, measure: int, *, clean: bool, played: int = 4, wrong: int = 0) -> wire.MeasureScored:
    return wire.MeasureScored(number, score(measure, clean=clean, played=played, wrong=wrong))


def report(number: int, *scores: dict[str, Any], **changes: Any) -> wire.PracticeReport:
    plain: dict[str, Any] = {
        "number": number,
        "whole": True,
        "clean": all(each["clean"] for each in scores),
        "self_marked": False,
        "measures": list(scores),
        "summary": {},
        "sentences": [],
        "rung": None,
        "take": "",
        "report": "",
    }
    return wire.PracticeReport(**(plain | changes))


def after(*messages: Any, seen: Seen | None = None) -> Seen:
    return reduce(lambda so_far, message: see(so_far, message, NOON), messages, seen or Seen())


def card(*messages: Any, here: bool = True, watched: bool = False) -> wire.Card:
    return card_of(after(*messages), ANN, here=here, watched=watched)


def a_pass(number: int, cleans: dict[int, bool], **chosen: Any) -> list[wire.FromService]:
    """A pass that is played to its end."""
    first = min(cleans, default=1)
    return [
        state("counting in", number=number, **chosen),
        begin(number, first=first),
        *(scored(number, measure, clean=clean) for measure, clean in cleans.items()),
        state("paused", number=number, **chosen),
        report(number, *(score(measure, clean=clean) for measure, clean in cleans.items())),
    ]


def test_a_student_of_whom_nothing_was_told() -> None:
    assert card(here=False) == wire.Card("ann-1", "Ann", here=False)


def test_what_is_chosen_is_on_the_card() -> None:
    told = state("ready", tempo=72.0, tier="intermediate", mix=[3, 4], first=2, last=6, measures=8)

    assert card(told, watched=True) == wire.Card(
        student="ann-1",
        name="Ann",
        here=True,
        state="ready",
        tune="lane",
        title="Test Lane",
        tier="intermediate",
        mix=[3, 4],
        tempo=72.0,
        first=2,
        last=6,
        measures=8,
        watched=True,
    )


def test_who_is_away_has_no_state_but_what_they_chose() -> None:
    shown = card(state("paused"), here=False)

    assert (shown.here, shown.state, shown.tune) == (False, "", "lane")


@pytest.mark.parametrize("name", ["ready", "counting in", "playing", "between passes", "paused"])
def test_the_state_is_that_of_the_wire(name: Any) -> None:
    assert card(state(name)).state == name


def test_of_a_pass_that_is_played_the_card_shows_what_is_played() -> None:
    shown = card(
        state("counting in", tempo=80.0, number=1),
        begin(1, tempo=80.2, first=3, last=5),
        state("playing", tune="other", title="Other", tier="advanced", mix=[1], tempo=99.0, first=1, last=2),
    )

    assert (shown.state, shown.tune, shown.title, shown.tier, shown.mix) == (
        *("playing", "lane", "Test Lane", "beginner"),
        [],
    )
    assert (shown.tempo, shown.first, shown.last) == (80.2, 3, 5)


def test_a_pass_that_is_told_again_is_the_same_pass() -> None:
    shown = card(state("counting in"), begin(1), scored(1, 1, clean=True), begin(1, origin=5.0))

    assert shown.marks == wire.PassStrip("lane", "beginner", 60.0, 1, [True], whole=False)


def test_measures_come_onto_the_strip_as_they_are_judged() -> None:
    told = [state("counting in"), begin(1, first=3), scored(1, 3, clean=True), scored(1, 4, clean=False)]

    assert card(*told[:2]).marks == wire.PassStrip("lane", "beginner", 60.0, 3, [], whole=False)
    assert card(*told[:2]).measure is None
    assert card(*told[:3]).measure == 3
    assert card(*told).measure == 4
    assert card(*told).marks == wire.PassStrip("lane", "beginner", 60.0, 3, [True, False], whole=False)


def test_a_measure_that_is_judged_again_stays_where_it_is() -> None:
    shown = card(
        *(state("counting in"), begin(1), scored(1, 1, clean=False), scored(1, 2, clean=True)),
        scored(1, 1, clean=True),
    )

    assert shown.measure == 2
    assert shown.marks is not None
    assert shown.marks.clean == [True, True]


def test_a_measure_in_which_nothing_was_played_is_no_mark_at_the_end_but_one_in_the_middle() -> None:
    silent = [state("counting in"), begin(1), scored(1, 1, clean=True), scored(1, 2, clean=False, played=0)]

    at_the_end, in_the_middle = card(*silent).marks, card(*silent, scored(1, 3, clean=True)).marks

    assert at_the_end is not None
    assert at_the_end.clean == [True]
    assert in_the_middle is not None
    assert in_the_middle.clean == [True, False, True]
    assert card(*silent).measure == 2


def test_marks_and_measure_go_when_the_pass_is_over() -> None:
    shown = card(state("counting in"), begin(1), scored(1, 1, clean=True), state("paused"))

    assert (shown.marks, shown.measure, shown.state) == (None, None, "paused")


def test_what_comes_of_another_pass_is_passed_over() -> None:
    playing = after(state("counting in"), begin(2), scored(2, 1, clean=True))

    for stray in (scored(1, 5, clean=True), wire.Place(1, 5, 60.0), report(7, score(1, clean=False))):
        assert see(playing, stray, NOON) is playing


def test_in_free_time_the_place_is_the_measure() -> None:
    shown = card(state("counting in"), begin(1, free=True), wire.Place(1, 6, 61.0))

    assert shown.measure == 6


def test_clicks_to_learn_an_instrument_by_are_no_pass() -> None:
    shown = card(state("counting in", learning=True), begin(1, learning=True, tempo=90.0))

    assert (shown.marks, shown.tempo, shown.state) == (None, 60.0, "counting in")


@pytest.mark.parametrize(
    "message",
    [
        wire.HeardMark(1, "pad", 1, 62, 1, "p1", "on time", 3.0),
        wire.VerdictMark(1, 1, "p1", "on time", 3.0, 62, 1),
        wire.Amend(1, 1, "p1", "late", 30.0, ""),
        wire.Place(1, 1, 60.0),
        wire.Failure("No."),
        wire.Ping(1, 0.0),
    ],
)
def test_what_changes_nothing_on_a_card_changes_nothing(message: wire.FromService) -> None:
    playing = after(state("counting in"), begin(1), scored(1, 1, clean=True))

    assert see(playing, message, NOON) is playing


def test_a_report_makes_a_strip_with_its_own_last_word() -> None:
    shown = card(
        *(state("counting in", tempo=80.0), begin(1, tempo=80.0), scored(1, 1, clean=False), scored(1, 2, clean=True)),
        *(state("paused"), report(1, score(1, clean=True), score(2, clean=True), score(3, clean=False, played=0))),
    )

    assert shown.strips == [wire.PassStrip("lane", "beginner", 80.0, 1, [True, True], whole=True)]
    assert shown.practised == NOON


def test_a_pass_that_was_stopped_is_not_whole() -> None:
    told = [state("counting in"), begin(1), scored(1, 1, clean=True), state("paused")]

    assert not card(*told, report(1, score(1, clean=True), whole=False)).strips[0].whole


def test_a_pass_in_which_nothing_was_heard_leaves_no_strip() -> None:
    shown = card(state("counting in"), begin(1), state("paused"), report(1, score(1, clean=False, played=0)))

    assert (shown.strips, shown.practised) == ([], "")


def test_a_pass_that_the_player_marks_has_one_value() -> None:
    played = [state("counting in", self_marked=True), begin(1, first=2), state("paused")]
    asked = [*played, report(1, self_marked=True, clean=False, asks=True)]
    marked = [*asked, report(1, self_marked=True, clean=True)]

    assert card(*asked).strips == []
    assert card(*marked).strips == [wire.PassStrip("lane", "beginner", 60.0, 2, [True], whole=True, marked=True)]
    assert card(*marked).practised == NOON


@pytest.mark.parametrize("count", [MOST_STRIPS - 1, MOST_STRIPS, MOST_STRIPS + 1])
def test_the_last_passes_have_strips(count: int) -> None:
    told = [message for number in range(1, count + 1) for message in a_pass(number, {number: True})]

    kept = min(count, MOST_STRIPS)
    assert [strip.first for strip in card(*told).strips] == list(range(count - kept + 1, count + 1))


def test_a_report_that_comes_when_the_next_pass_has_begun_is_of_its_own_pass() -> None:
    before = [message for number in (1, 2, 3) for message in a_pass(number, {1: False, 2: True})]
    *fourth, late = a_pass(4, {1: False, 2: True})
    fifth = [state("counting in", number=5), begin(5), scored(5, 1, clean=False)]

    waiting, told = card(*before, *fourth, *fifth), card(*before, *fourth, *fifth, late)
    amended = card(*before, *fourth, *fifth, report(4, score(1, clean=True), score(2, clean=True)))

    assert (waiting.stuck, waiting.times, len(waiting.strips)) == (1, 5, 3)
    assert (told.stuck, told.times, len(told.strips)) == (1, 5, 4)
    assert told.strips[-1].clean == [False, True]
    assert (amended.stuck, amended.times) == (None, 0)
    assert told.marks == amended.marks == wire.PassStrip("lane", "beginner", 60.0, 1, [False], whole=False)


@pytest.mark.parametrize(("failures", "stuck"), [(STUCK - 1, None), (STUCK, 2), (STUCK + 1, 2)])
def test_stuck_is_four_passes_running(failures: int, stuck: int | None) -> None:
    told = [message for number in range(1, failures + 1) for message in a_pass(number, {1: True, 2: False})]

    shown = card(*told)

    assert (shown.stuck, shown.times) == (stuck, 0 if stuck is None else failures)


def test_a_measure_with_none_but_wrong_notes_was_played_and_holds_up() -> None:
    all_wrong = score(2, clean=False, played=0, wrong=4)
    told: list[Any] = [state()]
    for number in range(1, STUCK + 1):
        told += [state("playing"), begin(number), state("paused"), report(number, score(1, clean=True), all_wrong)]
    live = [state("playing"), begin(STUCK), scored(STUCK, 2, clean=False, played=0, wrong=4)]

    assert card(*told).strips[-1].clean == [True, False]
    assert card(*told).stuck == 2
    assert card(*told[: 1 + 4 * (STUCK - 1)], *live).stuck == 2


def test_stuck_is_seen_while_the_fourth_pass_is_played() -> None:
    told = [message for number in (1, 2, 3) for message in a_pass(number, {1: False})]
    fourth = [state("counting in"), begin(4)]

    assert card(*told, *fourth).stuck is None
    assert card(*told, *fourth, scored(4, 1, clean=False)).stuck == 1
    assert card(*told, *fourth, scored(4, 1, clean=False), scored(4, 1, clean=True)).stuck is None


def test_one_clean_pass_begins_the_count_anew() -> None:
    told = [
        message
        for number, clean in enumerate([False, False, False, True, False, False, False], 1)
        for message in a_pass(number, {1: clean})
    ]

    assert card(*told).stuck is None
    assert card(*told, *a_pass(8, {1: False})).times == 4


def test_passes_that_do_not_play_the_measure_do_not_count() -> None:
    told = [
        *(message for number in (1, 2, 3) for message in a_pass(number, {1: False})),
        *a_pass(4, {5: True}),
        *(state("counting in"), begin(5), state("paused"), report(5, score(1, clean=False, played=0))),
    ]

    assert card(*told).stuck is None
    assert card(*told, *a_pass(6, {1: False})).stuck == 1


@pytest.mark.parametrize("other", [{"tune": "mill"}, {"tier": "advanced"}, {"jam": True}, {"mix": [1]}])
def test_another_solo_has_a_count_of_its_own_and_leaves_that_of_the_first(other: dict[str, Any]) -> None:
    here = [message for number in (1, 2, 3) for message in a_pass(number, {1: False})]
    elsewhere = a_pass(4, {1: False}, **other)

    assert card(*here, *elsewhere).stuck is None
    assert card(*here, *elsewhere, *a_pass(5, {1: False})).times == 4
    assert card(*here, *a_pass(5, {1: False}), state("paused", **other)).stuck is None


def test_a_measure_that_is_mixed_in_is_that_of_the_next_tier() -> None:
    mixed = [message for number in (1, 2) for message in a_pass(number, {1: True, 2: False}, mix=[2])]
    whole = [message for number in (3, 4) for message in a_pass(number, {1: True, 2: False}, tier="intermediate")]

    assert card(*mixed, *whole).stuck == 2
    assert card(*mixed, *whole, state("paused", mix=[2])).stuck == 2
    assert card(*mixed, *whole, state("paused")).stuck is None


def test_of_several_measures_the_one_that_failed_most_often_holds_up_and_of_these_the_first() -> None:
    told = [message for number in range(1, 5) for message in a_pass(number, {2: False, 3: False})]

    assert card(*told).stuck == 2
    assert card(*told, *a_pass(5, {2: True, 3: False})).stuck == 3
    assert card(*told, *a_pass(5, {3: False})).stuck == 3


@given(
    passes=st.lists(
        st.tuples(
            st.dictionaries(st.integers(1, 3), st.booleans(), max_size=3), st.sampled_from(["beginner", "advanced"])
        ),
        max_size=14,
    )
)
def test_stuck_is_what_a_plain_count_says(passes: list[tuple[dict[int, bool], str]]) -> None:
    told = [message for number, (cleans, tier) in enumerate(passes, 1) for message in a_pass(number, cleans, tier=tier)]
    times = {
        measure: _run([cleans[measure] for cleans, tier in passes if tier == "beginner" and measure in cleans])
        for measure in (1, 2, 3)
    }
    most = max(times.values())

    shown = card(*told, state("paused"))

    assert shown.times == (most if most >= STUCK else 0)
    assert shown.stuck == (min(each for each in times if times[each] == most) if most >= STUCK else None)
    assert len(shown.strips) <= MOST_STRIPS


def _run(cleans: list[bool]) -> int:
    """How often running it was not clean at the end."""
    return next((count for count, clean in enumerate(reversed(cleans)) if clean), len(cleans))
