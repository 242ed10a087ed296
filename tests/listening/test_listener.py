from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.events import (
    Amended,
    DroppedNote,
    Event,
    ExtraNote,
    Heard,
    MeasureDone,
    PassDone,
    VerdictGiven,
)
from coach.listening.heard import Bend, HeardNote, Latency, NoteEnd, StrayNote
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan, Settings
from coach.listening.traits import PLUCK, Traits


def note(seconds: float, pitch: int, velocity: int = 80, string: int | None = None, seq: int = 1) -> HeardNote:
    return HeardNote(seconds, pitch, velocity, string or 1, string, seq)


def kinds(events: list[Event]) -> list[str]:
    return [type(event).__name__ for event in events]


@pytest.fixture
def pair(solo: Callable[..., Arrangement]) -> PassPlan:
    """Two notes half a second apart at 60 quarters a minute, from second 10 on."""
    return PassPlan(solo([("0", 3, 0), ("1/2", 2, 0)]), 60.0, origin=10.0)


@pytest.mark.parametrize(
    ("heard", "pluck", "mark", "offset"),
    [
        (note(10.01, 55), "m1e1", "on time", 10.0),
        (note(10.15, 55), "m1e1", "late", 150.0),
        (note(9.85, 55), "m1e1", "early", -150.0),
        (note(10.49, 60), "m1e2", "wrong note", -10.0),
        (note(10.5, 59, 80, 3), "m1e2", "other string", 0.0),
        (note(12.0, 55), None, "extra", None),
        (note(9.0, 55), None, "outside", None),
        (note(15.0, 55), None, "outside", None),
    ],
)
def test_a_note_gets_its_provisional_mark_at_once(
    heard: HeardNote, pluck: str | None, mark: str, offset: float | None, pair: PassPlan
) -> None:
    assert Listener(pair).hear(heard) == [Heard(1, pluck, mark, offset, heard.pitch, heard.string)]


def test_the_mark_knows_what_was_heard_before_at_the_place(pair: PassPlan) -> None:
    listener = Listener(pair)
    listener.hear(note(10.0, 55, seq=1))
    (ghost,) = listener.hear(note(10.03, 67, 40, seq=2))
    (more,) = listener.hear(note(10.1, 57, seq=3))

    assert isinstance(ghost, Heard)
    assert isinstance(more, Heard)
    assert (ghost.mark, more.mark) == ("dropped", "extra")


def test_a_crowd_of_notes_is_noise_and_gets_no_marks(pair: PassPlan) -> None:
    listener = Listener(pair)
    marks = [listener.hear(note(10.0 + k / 1000, 40 + k, seq=k))[0] for k in range(12)]

    assert [mark.mark for mark in marks if isinstance(mark, Heard)][-3:] == ["extra"] * 3


# The window of the first place ends half-way, 250 ms after it; another 40 ms may settle what its notes are.
@pytest.mark.parametrize(("watermark", "final"), [(10.289, 0), (10.29, 0), (10.290001, 1)])
def test_a_place_is_final_once_the_watermark_has_passed_its_window_and_the_look_ahead(
    watermark: float, final: int, pair: PassPlan
) -> None:
    listener = Listener(pair)
    listener.hear(note(10.0, 55))

    assert len(listener.watermark(watermark)) == final


def test_a_latency_holds_finality_back(pair: PassPlan) -> None:
    listener = Listener(pair, Settings(Latency(by_string=((4, 30.0), (1, 5.0)))))

    assert listener.watermark(10.32) == []
    assert kinds(listener.watermark(10.321)) == ["VerdictGiven"]


def test_a_watermark_that_goes_back_says_nothing(pair: PassPlan) -> None:
    listener = Listener(pair)

    assert kinds(listener.watermark(10.3)) == ["VerdictGiven"]
    assert listener.watermark(10.1) == []
    assert listener.watermark(10.3) == []


def test_a_note_behind_the_watermark_is_dropped_with_that_reason(pair: PassPlan) -> None:
    listener = Listener(pair)
    listener.watermark(10.4)
    (event,) = listener.hear(note(10.3, 55))
    listener.finish()

    assert isinstance(event, DroppedNote)
    assert listener.result is not None
    assert [(d.pitch, d.reason) for d in listener.result.dropped] == [(55, "behind the watermark")]


@pytest.mark.parametrize(("watermark", "verdict"), [(0.95, "on time"), (0.951, "missed")])
def test_a_bend_behind_the_watermark_sounds_nothing(watermark: float, verdict: str, slide: Arrangement) -> None:
    listener = Listener(PassPlan(slide, 60.0, slurs_shown=True))
    listener.hear(note(0.0, 52))
    listener.watermark(watermark)
    listener.bend(Bend(0.95, 300.0, seq=2))
    listener.finish()

    assert listener.result is not None
    assert listener.result.notes[1].verdict == verdict


@pytest.mark.parametrize(("watermark", "dropped"), [(10.11, ["too short"]), (10.111, [])])
def test_a_note_off_behind_the_watermark_ends_nothing(watermark: float, dropped: list[str], pair: PassPlan) -> None:
    listener = Listener(replace(pair, traits=Traits().learned([], [PLUCK + 1] * 20)))
    listener.hear(note(10.0, 55, seq=1))
    listener.hear(note(10.1, 61, seq=2))
    listener.watermark(watermark)
    listener.take(NoteEnd(10.11, 61, seq=3))
    listener.finish()

    assert listener.result is not None
    assert [each.reason for each in listener.result.dropped] == dropped


@pytest.mark.parametrize(("closes", "verdict"), [(1.1, "missed"), (1.101, "on time")])
def test_a_bend_that_belongs_to_the_next_pass_sounds_nothing(closes: float, verdict: str, slide: Arrangement) -> None:
    listener = Listener(PassPlan(slide, 60.0, slurs_shown=True, closes=closes))
    listener.hear(note(0.0, 52))
    listener.bend(Bend(1.1, 300.0, seq=2))
    listener.finish()

    assert listener.result is not None
    assert listener.result.notes[1].verdict == verdict


@pytest.mark.parametrize(("opens", "mark"), [(10.2, "dropped"), (10.201, "outside")])
def test_a_note_of_no_string_belongs_to_the_pass_that_it_lies_in(opens: float, mark: str, pair: PassPlan) -> None:
    (event,) = Listener(replace(pair, opens=opens)).take(StrayNote(10.2, 55, 7))

    assert isinstance(event, Heard)
    assert event.mark == mark


def test_a_note_outside_the_windows_is_final_after_the_look_ahead(pair: PassPlan) -> None:
    listener = Listener(pair)
    listener.hear(note(12.0, 55))
    early = listener.watermark(12.04)
    late = listener.watermark(12.0401)

    assert kinds(early) == ["VerdictGiven", "VerdictGiven"]
    assert kinds(late) == ["ExtraNote"]


def test_a_measure_is_done_when_nothing_can_change_it_any_more(solo: Callable[..., Arrangement]) -> None:
    # The window of the second measure's first place reaches 300 ms into the first.
    listener = Listener(PassPlan(solo([("0", 3, 0)], [("0", 3, 0)]), 60.0))
    listener.hear(note(0.0, 55, seq=1))
    listener.hear(note(3.71, 60, seq=2))
    before = listener.watermark(4.34)
    after = listener.watermark(4.3401)

    assert kinds(before) == ["VerdictGiven"]
    assert kinds(after) == ["VerdictGiven", "MeasureDone"]


def test_in_a_running_roll_a_measure_is_done_as_its_last_window_closes(roll: Arrangement) -> None:
    listener = Listener(PassPlan(roll, 60.0))

    assert "MeasureDone" not in kinds(listener.watermark(4.04))
    assert kinds(listener.watermark(4.0401)) == ["MeasureDone"]


def test_a_measure_is_done_after_the_place_whose_window_reaches_over_its_end(solo: Callable[..., Arrangement]) -> None:
    # Its last place, a quarter of a second before the barline, is settled 90 ms behind that.
    listener = Listener(PassPlan(solo([("15/4", 3, 0)], [("2", 3, 0)]), 60.0))

    assert listener.watermark(4.09) == []
    assert kinds(listener.watermark(4.0901)) == ["VerdictGiven", "MeasureDone"]


def test_an_early_extra_before_a_barline_lies_in_the_measure_before(solo: Callable[..., Arrangement]) -> None:
    listener = Listener(PassPlan(solo([("0", 3, 0)], [("0", 3, 0)]), 60.0))
    listener.hear(note(0.0, 55, seq=1))
    listener.hear(note(3.7, 60, seq=2))
    listener.hear(note(4.0, 55, seq=3))
    done = [event.score for event in listener.finish() if isinstance(event, MeasureDone)]

    assert [score.extra for score in done] == [1, 0]


def test_the_pass_ends_by_itself_and_then_hears_nothing(pair: PassPlan) -> None:
    listener = Listener(pair)
    events = listener.watermark(14.0401)

    assert kinds(events)[-2:] == ["MeasureDone", "PassDone"]
    assert isinstance(events[-1], PassDone)
    assert events[-1].result == listener.result
    assert listener.watermark(20.0) == listener.finish() == listener.stop(21.0) == []
    assert listener.stopped_at is None
    (outside,) = listener.hear(note(13.0, 55))
    assert isinstance(outside, Heard)
    assert outside.mark == "outside"


def test_events_come_in_order_of_time_with_drops_before_the_verdict_of_their_place(pair: PassPlan) -> None:
    listener = Listener(pair)
    for seq, heard in enumerate([note(10.0, 55), note(10.02, 55, 50), note(10.1, 57), note(12.0, 60)]):
        listener.hear(replace(heard, seq=seq))

    assert kinds(listener.finish()) == [
        "DroppedNote",
        "VerdictGiven",
        "ExtraNote",
        "VerdictGiven",
        "ExtraNote",
        "MeasureDone",
        "PassDone",
    ]


def test_what_a_shown_slur_amends_is_said_at_once_with_the_measures_it_touches(
    solo: Callable[..., Arrangement],
) -> None:
    hammer = {"technique": "hammer-on", "from_fret": 2}
    listener = Listener(PassPlan(solo(*[[("0", 3, 2), ("1", 3, 3, hammer)]] * 2), 60.0))
    for seq, (seconds, pitch) in enumerate([(0.0, 57), (1.0, 60), (4.0, 57), (5.0, 58)]):
        listener.hear(note(seconds, pitch, seq=seq))
    first = listener.watermark(4.5)
    second = listener.watermark(5.5)

    assert kinds(first) == ["VerdictGiven", "VerdictGiven", "ExtraNote", "VerdictGiven", "MeasureDone"]
    assert kinds(second) == ["VerdictGiven", "Amended", "MeasureDone"]
    amended, again = second[1:]
    assert isinstance(amended, Amended)
    assert isinstance(again, MeasureDone)
    assert (amended.note.pluck.id, amended.note.verdict, amended.explained) == ("m1e2", "wrong note", 1)
    assert (again.score.number, again.score.wrong, again.score.extra) == (1, 1, 0)


def test_a_stop_ends_the_hearing_and_the_rest_is_missed(roll: Arrangement, play: Callable[..., object]) -> None:
    plan = PassPlan(roll, 60.0)
    listener = Listener(plan)
    for heard in play(plan):
        listener.hear(heard)
    assert listener.stop(2.25) == []
    listener.watermark(2.2)
    events = listener.watermark(2.25)

    assert isinstance(events[-1], PassDone)
    result = events[-1].result
    assert [n.verdict for n in result.notes] == ["on time"] * 5 + ["missed"] * 11
    assert (result.whole, result.clean, listener.stopped_at) == (False, False, 2.25)


def test_a_note_at_the_very_stop_is_not_heard_any_more(pair: PassPlan) -> None:
    listener = Listener(pair)
    listener.stop(10.5)
    listener.hear(note(10.499, 55, seq=1))
    (at_the_stop,) = listener.hear(note(10.5, 59, seq=2))

    assert isinstance(at_the_stop, Heard)
    assert at_the_stop.mark == "outside"


def test_a_stop_behind_the_watermark_takes_effect_at_the_watermark(roll: Arrangement) -> None:
    listener = Listener(PassPlan(roll, 60.0))
    listener.watermark(3.0)
    events = listener.stop(2.0)

    assert listener.stopped_at == 3.0
    assert isinstance(events[-1], PassDone)


def test_a_stop_after_the_last_place_leaves_the_pass_whole(pair: PassPlan) -> None:
    listener = Listener(pair)
    listener.hear(note(10.0, 55, seq=1))
    listener.hear(note(10.5, 59, seq=2))
    listener.stop(10.6)
    listener.finish()

    assert listener.result is not None
    assert listener.result.whole
    assert listener.result.clean


def test_where_one_pass_gives_way_to_the_next_is_told_by_the_plan(pair: PassPlan) -> None:
    first = Listener(replace(pair, closes=10.6))
    second = Listener(replace(pair, origin=11.0, opens=10.9))
    marks = [
        listener.hear(note(seconds, 55))[0]
        for listener, seconds in ((first, 10.59), (first, 10.6), (second, 10.89), (second, 10.9))
    ]

    assert [mark.mark == "outside" for mark in marks if isinstance(mark, Heard)] == [False, True, True, False]


def test_a_pass_with_nothing_to_play_ends_too(solo: Callable[..., Arrangement]) -> None:
    listener = Listener(PassPlan(solo([], []), 60.0))
    listener.hear(note(1.0, 55))
    events = listener.finish()

    assert kinds(events) == ["ExtraNote", "MeasureDone", "MeasureDone", "PassDone"]
    assert isinstance(events[0], ExtraNote)


@pytest.mark.parametrize(("end", "whole"), [(7.9, False), (8.0, True), (20.0, True), (None, True)])
def test_a_pass_with_nothing_to_play_is_whole_where_the_take_goes_on_to_its_end(
    end: float | None, whole: bool, solo: Callable[..., Arrangement]
) -> None:
    listener = Listener(PassPlan(solo([], []), 60.0))
    listener.finish(end)

    assert listener.result is not None
    assert listener.result.whole == whole


def test_verdicts_are_given_once_each(roll: Arrangement) -> None:
    listener = Listener(PassPlan(roll, 60.0))
    given = [
        event.note.pluck.id
        for k in range(120)
        for event in listener.watermark(k / 10)
        if isinstance(event, VerdictGiven)
    ]

    assert given == [pluck.id for _, pluck in roll.plucks()]
