"""An instrument that a page hears by its browser: an input with a seat of its own, on the page's clock."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coach.errors import InputError
from coach.listening.calibration import CLICKS
from coach.listening.calibration import TEMPO as LEARNING_TEMPO
from coach.service import protocol as wire
from coach.service.absences import LOOK
from coach.service.pages import AWAY
from coach.service.passes import CapturedNote
from coach.takes.replay import replay, report_text
from coach.takes.sessions import read_session

TEMPO = 120.0  # two seconds a measure
SLOW = 20.0  # twelve seconds a measure
NAME = "Cedar Five"
Written = list[tuple[float, bytes]]


@pytest.fixture
def begun(world: Any) -> tuple[Any, Any]:
    """A session with a page that hears an instrument."""
    world.ready()
    page = world.page()
    page.hear(NAME)
    return world, page


def begin(page: Any) -> float:
    """Begin a pass that the page sounds; returns when position 0 is heard, on its clock."""
    page.say(wire.Settings(tempo=TEMPO))
    page.say(wire.Start())
    return float(page.now() + 0.2 + page.last(wire.Begin).lead)


def play(world: Any, page: Any, notes: Written, until: float = 9.0) -> Any:
    """Play a pass; returns its report."""
    world.play(page, notes, until=until, origin=begin(page))
    return page.last(wire.PracticeReport)


def verdicts(page: Any) -> list[tuple[str | None, str, float | None, int | None]]:
    return sorted((each.id or "", each.verdict, each.offset_ms, each.string) for each in page.all(wire.VerdictMark))


def test_it_is_judged_as_the_pad_is_note_for_note(
    new_world: Callable[[], Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    notes = [
        (seconds + 0.007 * (index % 3), data)
        for index, (seconds, data) in enumerate(as_written(solos["beginner"], TEMPO))
    ]
    found = []
    for name in ("", NAME):
        world = new_world()
        world.ready()
        page = world.page()
        if name:
            page.hear(name)
            page.say(wire.Settings(string_channels="1-5"))  # it is not the pad: nothing is taken for granted
        play(world, page, notes)
        found.append(verdicts(page))

    assert found[0] == found[1]
    assert len(found[0]) == len(notes)
    assert {offset for _, _, offset, _ in found[0]} == {0.0, 7.0, 14.0}


def test_no_mapping_between_clocks_enters_a_verdict(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    world, page = begun
    notes = as_written(solos["beginner"], TEMPO)
    origin = begin(page)
    page.theta += 0.013  # the service's view of the page's clock is wrong from here on
    world.play(page, notes, until=9.0, origin=origin)

    assert {offset for _, _, offset, _ in verdicts(page)} == {0.0}


def test_the_player_sees_which_instrument_is_in_use(begun: tuple[Any, Any]) -> None:
    world, page = begun
    assert page.last(wire.State).instrument == f"{NAME} in a browser"

    page.hear("")

    assert page.last(wire.State).instrument == "the pad of home"
    assert world.session._played_on.name == "the pad of home"


def test_its_notes_are_acknowledged_and_sent_again_by_themselves(begun: tuple[Any, Any]) -> None:
    _, page = begun
    page.say(wire.Notes("pad", [wire.InputNote(1, page.now(), [0x90, 60, 90])]))
    page.say(wire.Notes("pad-midi", [wire.InputNote(seq, page.now(), [0x90, 60, 90]) for seq in (1, 2, 3)]))
    assert [(ack.seat, ack.seq) for ack in page.all(wire.Ack)] == [("pad", 1), ("pad-midi", 3)]

    page.go()
    page.come()

    hello = page.last(wire.Hello)
    assert (hello.acknowledged, hello.instrument_acknowledged) == (1, 3)


def test_what_is_sent_again_in_mid_pass_counts_once(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    world, page = begun
    notes = as_written(solos["beginner"], TEMPO)
    origin = begin(page)
    half = len(notes) // 2
    world.play(page, notes[:half], until=notes[half - 1][0] + 0.1, origin=origin)
    page.go()
    world.play(page, notes[half:-4], until=notes[-4][0] - 0.01, origin=origin)
    page.come()
    page.hear(NAME)
    page.say(wire.Notes("pad-midi", page.sent[half - 3 :]))  # the last three had come, the acknowledgement was lost
    world.play(page, notes[-4:], until=9.0, origin=origin)
    report = page.last(wire.PracticeReport)

    assert report.clean
    assert [measure["extra"] for measure in report.measures] == [0, 0, 0, 0]
    assert [measure["played"] for measure in report.measures] == [measure["expected"] for measure in report.measures]


def test_a_session_without_ports_takes_it_and_the_take_is_whole(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written], tmp_path: Path
) -> None:
    world, page = begun
    assert page.last(wire.Ports).inputs == []
    report = play(world, page, as_written(solos["beginner"], TEMPO))

    assert report.clean
    folder = tmp_path / "folder-1"
    kept = json.loads((folder / "session.json").read_text("utf-8"))
    assert kept["instrument"]["name"] == f"{NAME} in a browser"
    assert report_text(replay(read_session(folder))) == (folder / "report.json").read_text("utf-8")


@pytest.mark.parametrize(("name", "told"), [(NAME, True), ("Oak Five", False)])
def test_the_bend_range_that_an_instrument_told_is_not_that_of_another(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written], tmp_path: Path, *, name: str, told: bool
) -> None:
    world, page = begun
    for data in (b"\xb0\x65\x00", b"\xb0\x64\x00", b"\xb0\x06\x0c"):
        page.pluck(data)
    page.hear(name)
    play(world, page, as_written(solos["beginner"], TEMPO))

    messages = read_session(tmp_path / "folder-1").take.messages
    assert (b"\xb0\x06\x0c" in [message.data for message in messages]) == told


def test_strings_are_found_by_listening_not_taken_for_granted(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    world, page = begun
    notes = as_written(solos["beginner"], TEMPO)
    play(world, page, [(seconds, bytes((0x90, *data[1:]))) for seconds, data in notes])
    assert {string for _, _, _, string in verdicts(page)} == {None}  # all on channel 1: that says nothing
    page.messages.clear()

    play(world, page, notes)  # it is heard now that channels tell strings
    page.messages.clear()
    play(world, page, notes)

    assert {string for _, _, _, string in verdicts(page)} == {data[0] % 16 + 1 for _, data in notes}


def test_strings_of_the_pad_say_nothing_of_an_instrument_that_was_not_heard_yet(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    world, page = begun
    page.say(wire.Notes("pad", [wire.InputNote(seq, page.now(), [0x8F + seq, 60, 90]) for seq in (1, 2, 3)]))
    report = play(
        world, page, [(seconds, bytes((0x90, *data[1:]))) for seconds, data in as_written(solos["beginner"], TEMPO)]
    )

    assert {verdict for _, verdict, _, _ in verdicts(page)} == {"on time"}  # none on another string
    assert report.clean


def test_what_is_heard_on_a_port_meanwhile_says_nothing_of_strings(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    world, page = begun
    world.midi.open = True
    notes = as_written(solos["beginner"], TEMPO)
    play(world, page, notes)
    world.session.midi_in("midi", CapturedNote(1, world.clock(), b"\x90\x3c\x50"))  # no string, all on channel 1
    page.messages.clear()
    play(world, page, notes)

    assert {string for _, _, _, string in verdicts(page)} == {data[0] % 16 + 1 for _, data in notes}


def test_the_pad_can_be_played_all_the_same(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    world, page = begun
    page.plays_on = "pad"
    notes = as_written(solos["beginner"], TEMPO)
    origin = begin(page)
    left = sorted(notes)
    while page.now() < origin + 9.0:  # both watermarks come
        world.clock.advance(0.01)
        while left and origin + left[0][0] <= page.now():
            seconds, data = left.pop(0)
            page.pluck(data, origin + seconds)
        for seat in ("pad", "pad-midi"):
            page.say(wire.Notes(seat, [], page.now()))
        world.session.tick()
        world.settle()

    assert page.last(wire.PracticeReport).clean


def test_one_instrument_at_a_time_is_heard(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    world, page = begun
    world.midi.open = True  # the service hears the same instrument
    notes = as_written(solos["beginner"], TEMPO)
    origin = begin(page)
    for seconds, data in notes:
        world.session.midi_in("midi", CapturedNote(1, origin - page.theta + seconds + 0.09, data))
    world.play(page, notes, until=9.0, origin=origin)

    assert page.last(wire.State).instrument == f"{NAME} in a browser"
    assert {offset for _, _, offset, _ in verdicts(page)} == {0.0}
    assert all(measure["extra"] == 0 for measure in page.last(wire.PracticeReport).measures)


def test_the_port_is_heard_again_when_the_page_lets_its_instrument_go(begun: tuple[Any, Any]) -> None:
    world, page = begun
    world.midi.open = True
    page.hear("")
    assert page.last(wire.State).instrument == "banjo"

    page.hear(NAME)
    page.go()
    world.run(AWAY - 1.0)
    assert world.session._played_on.name == f"{NAME} in a browser"
    world.run(2.0)

    assert world.session._played_on.name == "banjo"


def test_of_two_pages_the_one_that_named_its_instrument_last_is_played_on(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    world, first = begun
    world.clock.advance(1.0)
    second = world.page("pad-two", theta=-300.0)
    second.hear("Oak Five")
    assert first.last(wire.State).instrument == "Oak Five in a browser"

    origin = begin(first)
    notes = as_written(solos["beginner"], TEMPO)
    first.pluck(b"\x90\x3c\x50", origin + 0.1)
    world.play(second, notes, until=9.0, origin=origin - first.theta + second.theta)
    world.run(1.0, marks=(first, second))

    assert first.last(wire.PracticeReport).clean
    assert {offset for _, _, offset, _ in verdicts(first)} == {0.0}
    assert [ack.seat for ack in first.all(wire.Ack)] == ["pad-midi"]  # taken, so that it is not sent for ever


def test_a_foot_switch_on_it_works_and_is_no_note(begun: tuple[Any, Any]) -> None:
    _, page = begun
    page.say(wire.Settings(foot_start="CC 64"))
    page.pluck(b"\xb0\x40\x7f")

    assert page.last(wire.Foot).switch == "CC 64"
    assert page.last(wire.State).state == "counting in"
    assert page.last(wire.Begin).sounds


def test_the_page_whose_instrument_is_played_on_sounds_what_a_foot_begins(begun: tuple[Any, Any]) -> None:
    world, page = begun
    other = world.page("pad-two", theta=-300.0)
    page.say(wire.Settings(foot_start="CC 64"))
    page.pluck(b"\xb0\x40\x7f")

    assert page.last(wire.Begin).sounds
    assert not other.last(wire.Begin).sounds


@pytest.mark.parametrize(("told", "where"), [(True, "measures 2 and 3"), (False, "measures 3 and 4")])
def test_unplugged_in_mid_pass_it_was_away(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written], *, told: bool, where: str
) -> None:
    """The page says when; where it does not, what it says counts when it comes."""
    world, page = begun
    notes = [note for note in as_written(solos["beginner"], TEMPO) if not 3.4 <= note[0] < 6.6]
    origin = begin(page)
    world.play(page, [note for note in notes if note[0] < 3.4], until=4.5, origin=origin)
    page.hear("", origin + 3.4 + LOOK if told else None)
    world.play(page, [], until=6.5, origin=origin)
    page.hear(NAME, origin + 5.9 if told else None)
    world.play(page, [note for note in notes if note[0] >= 6.6], until=9.0, origin=origin)

    report = page.last(wire.PracticeReport)
    assert report.sentences[0] == f"The instrument was not connected in {where}, so this pass moves nothing."


def test_what_it_had_begun_to_send_ends_with_it(begun: tuple[Any, Any]) -> None:
    _, page = begun
    page.say(wire.Settings(foot_start="CC 64"))
    page.pluck(b"\xb0\x40")
    page.hear("")
    page.hear(NAME)
    page.pluck(b"\x7f")  # it would have ended the press of the switch

    assert page.all(wire.Foot) == []


@pytest.mark.parametrize(("is_back", "where"), [(False, "measures 2 to 4"), (True, "measures 2 and 3")])
def test_while_a_page_stays_away_its_instrument_is_not_connected(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written], *, is_back: bool, where: str
) -> None:
    world, page = begun
    other = world.page("pad-two", theta=-300.0)
    other.say(wire.Settings(tempo=SLOW))
    other.say(wire.Start())
    origin = other.now() + 0.2 + other.last(wire.Begin).lead - other.theta + page.theta
    measure = 4 * 60 / SLOW
    world.play(page, as_written(solos["beginner"], SLOW, last=1), until=measure, origin=origin)
    page.go()
    world.run(AWAY + 1.0, marks=(other,))
    if is_back:
        page.come()
        page.hear(NAME, origin - 5.0)
    world.run(2 * measure, marks=(other,))

    assert other.last(wire.PracticeReport).sentences[0].startswith(f"The instrument was not connected in {where}, so")


def test_while_its_page_was_loaded_anew_it_was_not_connected(
    begun: tuple[Any, Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    """Another page sounds the click; this one has a new clock when it is back, and hears its instrument still later."""
    world, page = begun
    other = world.page("pad-two", theta=-300.0)
    other.say(wire.Settings(tempo=SLOW))
    other.say(wire.Start())
    origin = other.now() + 0.2 + other.last(wire.Begin).lead - other.theta
    measure = 4 * 60 / SLOW
    notes = as_written(solos["beginner"], SLOW)
    first, last = [note for note in notes if note[0] < measure], [note for note in notes if note[0] >= 2 * measure]
    world.play(page, first, until=measure + 1.0, origin=origin + page.theta)
    page.go()
    page.theta = 7.0
    page.come()
    page.hear("")
    world.run(2.0, marks=(other,))
    page.hear(NAME, page.now())
    world.play(page, last, until=4 * measure, origin=origin + page.theta)
    world.run(1.0, marks=(page, other))

    report = other.last(wire.PracticeReport)
    assert report.sentences[0] == "The instrument was not connected in measure 2, so this pass moves nothing."
    assert [score["clean"] for score in report.measures] == [True, False, True, True]


def test_it_is_learned_under_its_own_name_and_known_again(begun: tuple[Any, Any], tmp_path: Path) -> None:
    world, page = begun
    page.say(wire.Calibrate())
    origin = page.now() + 0.2 + page.last(wire.Begin).lead
    gap = 60 / LEARNING_TEMPO
    notes = [(gap * click + 0.028, bytes((0x90 | click % 5, 60 + click % 5, 90))) for click in range(CLICKS)]
    world.play(page, notes, until=gap * CLICKS + 0.5, origin=origin)

    learned = page.last(wire.Calibrated)
    assert (learned.instrument, learned.trusted) == (f"{NAME} in a browser", True)
    assert learned.lag_ms == pytest.approx(28.0, abs=0.1)
    assert len(learned.by_string) == 5
    kept = json.loads((tmp_path / "instruments.json").read_text("utf-8"))["instruments"]
    assert [each["name"] for each in kept] == [f"{NAME} in a browser"]
    state = page.last(wire.State)
    assert state.is_learned
    page.hear("")
    assert not page.last(wire.State).is_learned

    page.hear(NAME)

    assert page.last(wire.State).latency_by_string == state.latency_by_string
    assert page.last(wire.State).is_learned


def test_notes_of_no_seat_of_the_page_are_refused(begun: tuple[Any, Any]) -> None:
    _, page = begun
    with pytest.raises(InputError, match="is not this page's"):
        page.say(wire.Notes("other-midi", [wire.InputNote(1, 0.0, [0x90, 60, 90])]))


def test_the_seat_of_an_instrument_is_no_seat_of_a_page(world: Any) -> None:
    world.ready()
    with pytest.raises(InputError, match="that of a page's instrument"):
        world.page("pad-midi")


def test_a_seat_without_room_for_its_instrument_is_refused(world: Any) -> None:
    world.ready()
    world.page("x" * 35).say(wire.Input(NAME))
    with pytest.raises(InputError, match="too long"):
        world.page("x" * 36).say(wire.Input(NAME))
