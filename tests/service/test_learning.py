"""Learning an instrument in a session: sixteen clicks, what comes of them, and whose it is."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coach.errors import InputError, PortError
from coach.listening.calibration import CLICKS, TEMPO
from coach.listening.heard import HeardNote, Latency
from coach.service import protocol as wire
from coach.service.instruments import KnownInstrument
from coach.service.learning import CalibratingEar, learning_order
from coach.service.passes import CapturedNote
from coach.service.settings import Chosen
from coach.service.student import LEAD, Student, demo_player
from coach.takes.sessions import read_session

GAP = 60 / TEMPO
OPEN_STRINGS = {1: 62, 2: 59, 3: 55, 4: 50, 5: 67}
UNEVEN = [0, 9, -9, 4, -4, 12, -12, 2, -2, 7, -7, 10, -10, 1, -1, 0]
"""Milliseconds by which the sixteen notes lie beside where they ought to."""


def in_turn(late_ms: Callable[[int], float], *, one_channel: bool = False) -> list[tuple[float, bytes]]:
    """Notes to the sixteen clicks on the strings in turn, late by so much on each, and uneven."""
    notes = []
    for index in range(CLICKS):
        string = index % 5 + 1
        channel = 0 if one_channel else string - 1
        at = index * GAP + (late_ms(string) + UNEVEN[index]) / 1000
        notes.append((at, bytes((0x90 | channel, OPEN_STRINGS[string], 90))))
    return notes


def learn(world: Any, page: Any, notes: list[tuple[float, bytes]], until: float = CLICKS * GAP + 0.5) -> None:
    """Learn the pad from these notes."""
    page.say(wire.Calibrate())
    page.mark()
    begin = page.last(wire.Begin)
    origin = page.now() + 0.2 + begin.lead if begin.origin is None else begin.origin
    world.play(page, notes, until, origin)


def test_a_click_of_sixteen_is_sounded_after_a_measures_count_in(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(click_level=0.0))
    page.say(wire.Calibrate())

    begin = page.last(wire.Begin)
    assert (begin.learning, begin.sounds, begin.tempo) == (True, True, pytest.approx(TEMPO))
    assert begin.lead == pytest.approx(4 * GAP)
    assert [cue.at for cue in begin.cues] == pytest.approx([index * GAP for index in range(-4, CLICKS)])
    assert all(cue.voice in ("click", "accent") and cue.level > 0 for cue in begin.cues)  # whatever passes have
    state = page.last(wire.State)
    assert (state.learning, state.state, state.title) == (True, "counting in", "Test Lane")


def test_what_is_learned_is_told_taken_into_use_and_kept(world: Any, tmp_path: Path) -> None:
    world.ready()
    page = world.page()
    learn(world, page, in_turn(lambda _: 30, one_channel=True))

    told = page.last(wire.Calibrated)
    assert told.trusted
    assert told.lag_ms == pytest.approx(30, abs=2)
    assert (told.latency_ms, told.lean_ms) == (pytest.approx(45, abs=2), -15)
    assert told.offsets_ms == pytest.approx([30 + aside for aside in UNEVEN], abs=0.1)
    state = page.last(wire.State)
    assert (state.state, state.learning, state.is_learned) == ("ready", False, True)
    assert state.latency_ms == told.latency_ms
    (kept,) = json.loads((tmp_path / "instruments.json").read_text("utf-8"))["instruments"]
    assert (kept["name"], kept["latency_ms"], kept["is_learned"]) == ("the pad of home", told.latency_ms, True)
    assert [path.name for path in tmp_path.iterdir()] == ["instruments.json"]  # no session folder


def test_what_was_learned_is_taken_off_in_the_next_pass(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    late = {1: 10, 2: 10, 3: 10, 4: 90, 5: 10}
    learn(world, page, in_turn(lambda string: late[string]))
    assert {each.string: each.latency_ms for each in page.last(wire.Calibrated).by_string} == pytest.approx(
        {string: ms + 15 for string, ms in late.items()}, abs=6
    )

    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    assert (begin.number, begin.learning) == (1, False)
    origin = page.now() + 0.2 + begin.lead
    notes = [(at + late[(data[0] & 0x0F) + 1] / 1000, data) for at, data in as_written(solos["beginner"], 120.0)]
    world.play(page, notes, begin.length + 1, origin)

    report = page.last(wire.PracticeReport)
    assert report.clean
    assert report.summary["mean_offset_ms"] == pytest.approx(-15, abs=4)  # the lead stays in offsets
    assert {verdict.verdict for verdict in page.all(wire.VerdictMark)} == {"on time"}
    instrument = read_session(tmp_path / "folder-1").session.instrument
    assert instrument.calibrated
    assert [string for string, _ in instrument.latency.by_string] == [1, 2, 3, 4, 5]


def test_what_is_not_to_be_trusted_changes_nothing(world: Any, tmp_path: Path) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(latency_ms=12.0))
    learn(world, page, in_turn(lambda _: 30)[:6])

    told, state = page.last(wire.Calibrated), page.last(wire.State)
    assert not told.trusted
    assert told.sentence.startswith("Only 6 of 16 clicks had a note")
    assert (state.latency_ms, state.is_learned) == (12.0, False)


def test_a_players_own_latency_holds_until_it_is_learned_again(world: Any, tmp_path: Path) -> None:
    world.ready()
    page = world.page()
    learn(world, page, in_turn(lambda _: 30))
    page.say(wire.Settings(latency_ms=5.0))
    state = page.last(wire.State)
    assert (state.latency_ms, state.latency_by_string, state.is_learned) == (5.0, {}, False)

    learn(world, page, in_turn(lambda _: 30))

    assert page.last(wire.State).latency_ms == pytest.approx(45, abs=2)


def test_a_stop_ends_it_with_nothing_learned(world: Any) -> None:
    world.ready()
    page = world.page()
    learn(world, page, in_turn(lambda _: 30), until=3.0)
    assert page.last(wire.State).state == "playing"
    page.say(wire.Stop())
    world.run(0.2, marks=(page,))

    assert page.last(wire.State).state == "ready"
    assert page.all(wire.Calibrated) == []
    page.say(wire.Calibrate())  # and it can begin again


def test_nothing_is_learned_while_a_pass_is_played_and_no_pass_while_it_is(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Calibrate())
    with pytest.raises(InputError, match="stop it first"):
        page.say(wire.Start())
    page.say(wire.Stop())
    page.say(wire.Start())
    with pytest.raises(InputError, match="stop it first"):
        page.say(wire.Calibrate())


def test_a_page_that_comes_later_is_told_what_was_learned(world: Any) -> None:
    world.ready()
    page = world.page()
    learn(world, page, in_turn(lambda _: 30))
    other = world.page("other")

    assert other.last(wire.Calibrated) == page.last(wire.Calibrated)


@pytest.mark.parametrize(("told", "strings"), [("auto", [1, 2, 3, 4, 5]), ("off", [])])
def test_that_channels_tell_strings_is_found_from_the_sixteen_notes(told: Any, strings: list[int]) -> None:
    order = learning_order(1, Chosen(string_channels=told), None, None, None)
    ear = order.listen(order.plan)
    for at, data in in_turn(lambda _: 30):
        ear.take(HeardNote(at, data[1], data[2], (data[0] & 0x0F) + 1))
    assert not ear.is_over
    ear.watermark(CLICKS * GAP)

    assert ear.is_over
    assert isinstance(ear, CalibratingEar)
    assert ear.calibration is not None
    assert [each.string for each in ear.calibration.strings] == strings


@pytest.mark.parametrize(("end", "learned"), [(None, True), (CLICKS * GAP, True), (CLICKS * GAP - 0.1, False)])
def test_what_is_cut_off_before_its_end_teaches_nothing(end: float | None, *, learned: bool) -> None:
    order = learning_order(1, Chosen(), None, None, None)
    ear = order.listen(order.plan)
    for at, data in in_turn(lambda _: 30):
        ear.take(HeardNote(at, data[1], data[2]))
    ear.finish(end)

    assert isinstance(ear, CalibratingEar)
    assert (ear.calibration is not None) == learned


def test_the_next_pass_does_not_begin_by_itself_when_it_was_put_off_to_learn(
    world: Any, solos: Any, as_written: Any
) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0, keep_going=True))
    page.say(wire.Start())
    world.play(page, as_written(solos["beginner"], 120.0), until=9.0, origin=page.now() + 2.2)
    assert page.last(wire.State).state == "between passes"
    learn(world, page, in_turn(lambda _: 30))

    assert page.last(wire.State).state == "paused"


def test_a_page_that_comes_while_it_is_learned_is_told_of_the_last_pass(
    world: Any, solos: Any, as_written: Any
) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    world.play(page, as_written(solos["beginner"], 120.0), until=9.0, origin=page.now() + 2.2)
    page.say(wire.Calibrate())
    other = world.page("other")

    assert other.last(wire.PracticeReport).number == 1
    assert other.last(wire.Begin).learning


def test_who_plays_for_an_instrument_plays_to_the_click_that_it_is_learned_from(
    world: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    student = Student(demo_player(seed=2), world.clock)
    for name, does in (
        ("pass_begins", student.pass_begins),
        ("pass_ends", student.pass_ends),
        ("due", lambda: [("midi", note) for note in student.due()]),
    ):
        monkeypatch.setattr(world.midi, name, does)
    world.midi.open = True
    page = world.page()
    world.run(0.1)
    page.say(wire.Calibrate())
    world.run(3.0 + CLICKS * GAP, beat=0.01, marks=(page,))

    told = page.last(wire.Calibrated)
    assert told.trusted
    assert told.lag_ms == pytest.approx(-1000 * LEAD, abs=10)
    assert page.last(wire.State).is_learned


def test_it_needs_no_tune(world: Any) -> None:
    page = world.page()
    learn(world, page, in_turn(lambda _: 30))

    assert page.last(wire.Calibrated).trusted


# ------------------------------------------------------------------------------------------ whose it is


def test_each_instrument_has_its_own(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(latency_ms=7.0))
    page.say(wire.Settings(midi_in="banjo"))
    state = page.last(wire.State)
    assert (state.instrument, state.latency_ms) == ("banjo", 0.0)
    page.say(wire.Settings(latency_ms=21.0, string_channels="11-15"))
    page.say(wire.Settings(midi_in=""))
    state = page.last(wire.State)
    assert (state.instrument, state.latency_ms, state.string_channels) == ("the pad of home", 7.0, "auto")

    page.say(wire.Settings(midi_in="banjo"))

    state = page.last(wire.State)
    assert (state.latency_ms, state.string_channels) == (21.0, "11-15")


def test_nothing_is_learned_of_an_instrument_that_came_into_use_meanwhile(world: Any) -> None:
    world.ready()
    page = world.page()
    learn(world, page, in_turn(lambda _: 30), until=3.0)
    page.say(wire.Settings(midi_in="banjo"))
    world.run(CLICKS * GAP, marks=(page,))

    assert page.all(wire.Calibrated) == []
    assert page.last(wire.Failure).text == "Another instrument came into use meanwhile: learn it from its own notes."
    state = page.last(wire.State)
    assert (state.instrument, state.latency_ms, state.is_learned) == ("banjo", 0.0, False)


def test_that_an_input_is_not_there_is_told_with_what_is_in_use_now(
    world: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, other = world.page(), world.page("other")
    world.midi.open = True

    def choose(**_: object) -> None:
        world.midi.open = False
        raise PortError("no such input")

    monkeypatch.setattr(world.midi, "choose", choose)
    with pytest.raises(PortError):
        page.say(wire.Settings(midi_in="gone"))

    assert other.last(wire.Ports).input is None


def test_what_is_known_of_an_instrument_is_set_when_it_is_taken_up(new_world: Any) -> None:
    world = new_world()
    world.session._played_on._instruments.keep(
        KnownInstrument("banjo", Latency(30.0, ((1, 28.0), (4, 40.0))), 12.0, -25.0, is_learned=True)
    )
    world.ready()
    page = world.page()
    assert page.last(wire.State).latency_ms == 0
    world.midi.open = True
    world.run(0.1)

    state = page.last(wire.State)
    assert (state.instrument, state.latency_ms, state.is_learned) == ("banjo", 30.0, True)
    assert state.latency_by_string == {"1": 28.0, "4": 40.0}
    assert world.session._after.lean_ms == -25.0


def test_a_pad_that_does_not_tell_strings_has_the_latency_of_the_whole(world: Any) -> None:
    world.ready()
    page = world.page()
    learn(world, page, in_turn(lambda string: 90 if string == 4 else 10))
    page.say(wire.Settings(string_channels="off"))
    page.say(wire.Start())
    world.run(0.1, marks=(page,))

    order = world.session._runner.order
    assert order.instrument.latency == Latency(page.last(wire.State).latency_ms)


def test_a_broken_file_is_told_to_the_first_page(new_world: Any, tmp_path: Path) -> None:
    (tmp_path / "instruments.json").write_text("{", "utf-8")
    world = new_world()
    first, second = world.page(), world.page("other")

    assert "What was known of instruments cannot be read" in first.last(wire.Failure).text
    assert second.all(wire.Failure) == []


# ------------------------------------------------------------------------------------------ foot switches


def test_a_switch_is_set_by_pressing_it(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.LearnFoot("again"))
    state = page.last(wire.State)
    assert (state.learning_foot, state.foot_words) == ("again", "Press the switch now.")
    page.pluck(b"\xb0\x40\x7f")
    state = page.last(wire.State)
    assert (state.learning_foot, state.foot_again) == ("", "CC 64")
    assert page.last(wire.Foot) == wire.Foot("CC 64", "set, for the same again")

    page.say(wire.LearnFoot("start"))
    page.pluck(b"\xb0\x40\x7f")

    state = page.last(wire.State)
    assert (state.foot_start, state.foot_again) == ("CC 64", "")  # it does one thing
    assert page.last(wire.Foot).did == "set, for start and stop, and no longer for the same again"
    page.pluck(b"\xb0\x40\x00")
    page.pluck(b"\xb0\x40\x7f")
    assert page.last(wire.State).state == "counting in"


def test_a_note_is_pressed_twice_and_waited_for(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.LearnFoot("start"))
    page.pluck(b"\x90\x24\x50")
    world.run(0.1)
    assert page.last(wire.State).foot_words.startswith("Note 36 came")
    page.pluck(b"\x90\x24\x50")
    world.run(1.2)

    assert page.last(wire.State).foot_start == "note 36"


def test_a_switch_that_is_not_pressed_in_time_is_said(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.LearnFoot("start"))
    world.run(21.0)

    assert page.last(wire.State).learning_foot == ""
    assert page.last(wire.Failure).text == "No foot switch was heard: see that its input is the one in use."


def test_waiting_for_a_switch_ends_when_it_is_ended_and_when_a_pass_begins(world: Any) -> None:
    world.ready()
    page = world.page()
    for end in (wire.LearnFoot(""), wire.Start()):
        page.say(wire.LearnFoot("start"))
        page.say(end)
        assert page.last(wire.State).learning_foot == ""
    with pytest.raises(InputError, match="stop it first"):
        page.say(wire.LearnFoot("start"))


def test_what_a_switchs_own_input_sends_is_no_note(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(foot_start="note 36"))
    world.session.midi_in("foot", CapturedNote(1, world.clock(), b"\x90\x3e\x50"))
    world.session.midi_in("foot", CapturedNote(2, world.clock(), b"\x90\x24\x50"))
    world.settle()

    assert page.last(wire.State).state == "counting in"
    assert not world.session._runner.takes("foot")


# ------------------------------------------------------------------------------------------ inputs that vanish


def test_an_input_that_vanishes_in_mid_pass_holds_nothing_up_and_its_notes_count_when_it_is_back(
    world: Any, solos: Any, as_written: Any
) -> None:
    world.ready()
    page = world.page()
    world.midi.open = True
    page.say(wire.Settings(tempo=120.0, string_channels="1-5"))
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    origin = world.clock() + 0.2 + begin.lead
    notes = as_written(solos["beginner"], 120.0)
    gone = (4 * 0.5, 8 * 0.5)  # the second measure
    for seconds, data in notes:
        while world.clock() < origin + seconds:
            world.run(0.01, beat=0.01, marks=(page,))
            if gone[0] <= world.clock() - origin < gone[1]:
                if world.midi.open:
                    world.session.midi_lost("midi")
                world.midi.open = False
            else:
                world.midi.open = True
        if world.midi.open:
            world.session.midi_in("midi", CapturedNote(1, origin + seconds, data))
        else:
            scored = [message.score["number"] for message in page.all(wire.MeasureScored)]
    assert scored == [1]  # while it was gone
    world.run(2.0, marks=(page,))

    report = page.last(wire.PracticeReport)
    assert report.whole
    assert [(row["played"], row["missed"]) for row in report.measures] == [
        (row["expected"], 0) if row["number"] != 2 else (0, row["expected"]) for row in report.measures
    ]


def test_a_switch_that_was_down_when_its_input_vanished_starts_again_when_it_is_back(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(foot_start="CC 64"))
    down = CapturedNote(1, world.clock(), b"\xb0\x40\x7f")
    for lost, state in ((False, "counting in"), (False, "counting in"), (True, "ready")):
        if lost:
            world.session.midi_lost("midi")
        world.session.midi_in("midi", down)
        world.settle()
        assert page.last(wire.State).state == state
