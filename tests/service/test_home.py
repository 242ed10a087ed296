"""The ports of this computer, as the session that they belong to uses them."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
import rtmidi

from coach.errors import PortError
from coach.listening.plan import PassPlan
from coach.service.clock import FakeClock, monotonic
from coach.service.home import MIDI_SEAT, HomePorts
from coach.service.midi_out import ALL_NOTES_OFF, TimedMidi
from coach.service.passes import CapturedNote
from coach.service.ports import VIRTUAL_INPUT, RtMidiDriver
from coach.service.student import STUDENT_NAME, STUDENT_SEAT, Student
from coach.takes.player import VirtualPlayer


def test_a_real_note_comes_over_with_the_stamp_of_its_capture(jack_server: str) -> None:
    came = threading.Event()
    calls: list[Callable[[], None]] = []

    def hand_over(call: Callable[[], None]) -> None:
        calls.append(call)
        came.set()

    home = HomePorts(RtMidiDriver(), monotonic, hand_over, lambda _: None)
    home.look()
    home.choose(midi_in=VIRTUAL_INPUT, midi_out=None)
    assert home.seats() == (MIDI_SEAT,)
    banjo = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="banjo")
    banjo.open_port(banjo.get_ports().index("coach:in"), "out")
    heard: list[tuple[str, CapturedNote]] = []
    home.heard = lambda seat, note: heard.append((seat, note))
    before = monotonic()
    banjo.send_message(b"\x90\x3e\x50")
    assert came.wait(20)
    after = monotonic()
    banjo.close_port()
    banjo.delete()
    home.close()
    assert heard == []  # nothing is done in the driver's thread

    for call in calls:
        call()

    ((seat, note),) = heard
    assert (seat, note.seq, note.data) == (MIDI_SEAT, 1, b"\x90\x3e\x50")
    assert before <= note.stamp <= after


def test_timed_midi_leaves_through_the_output_that_is_chosen(make_driver: Any) -> None:
    driver = make_driver((), ("synth",))
    home = HomePorts(driver, monotonic, lambda call: call(), lambda _: None)
    home.look()
    assert home.sender() is None
    home.choose(midi_in=None, midi_out="synth")
    send = home.sender()
    assert send is not None
    send([TimedMidi(0.0, b"\x99\x4c\x7f")])
    home.choose(midi_in=None, midi_out="")

    assert home.sender() is None
    assert driver.open_out is None
    assert driver.sent[-len(ALL_NOTES_OFF) :] == list(ALL_NOTES_OFF)  # before the port was closed
    assert driver.sent[: -len(ALL_NOTES_OFF)] in ([b"\x99\x4c\x7f"], [])
    home.close()


def test_silence_forgets_what_is_queued(make_driver: Any) -> None:
    driver = make_driver((), ("synth",))
    home = HomePorts(driver, monotonic, lambda call: call(), lambda _: None)
    home.look()
    home.choose(midi_in=None, midi_out="synth")
    send = home.sender()
    assert send is not None
    send([TimedMidi(monotonic() + 600, b"\x99\x4c\x7f")])
    home.silence()
    home.close()

    assert b"\x99\x4c\x7f" not in driver.sent
    assert driver.sent[: len(ALL_NOTES_OFF)] == list(ALL_NOTES_OFF)


def test_one_port_that_is_not_there_does_not_keep_the_other(make_driver: Any) -> None:
    home = HomePorts(make_driver(("banjo", "keys"), ()), monotonic, lambda call: call(), lambda _: None)
    home.look()
    with pytest.raises(PortError, match="flute"):
        home.choose(midi_in="keys", midi_out="flute")

    assert (home.ports().input, home.ports().output) == ("keys", None)
    home.close()


def test_the_student_plays_each_note_at_its_own_time(solos: Any, make_driver: Any) -> None:
    clock = FakeClock(50.0)
    player = VirtualPlayer()
    home = HomePorts(make_driver(("banjo",), ()), clock, lambda call: call(), lambda _: None, Student(player, clock))
    home.look()
    plan = PassPlan(solos["beginner"].arrangement, 120.0)
    home.pass_begins(plan, 52.0)
    assert home.due() == []
    clock.advance(4.0)
    due = home.due()
    clock.advance(60.0)
    rest = home.due()

    played = player.play(plan)
    assert home.seats() == (STUDENT_SEAT,)  # no input is opened unasked
    assert home.tells_strings(STUDENT_SEAT)
    assert [(note.stamp, note.data) for _, note in due + rest] == [(52.0 + each.seconds, each.data) for each in played]
    assert max(note.stamp for _, note in due) <= 54.0 < min(note.stamp for _, note in rest)


def test_the_student_is_the_input_in_use_while_no_other_is(make_driver: Any) -> None:
    clock = FakeClock(0.0)
    student = Student(VirtualPlayer(), clock)
    home = HomePorts(make_driver(("banjo",), ()), clock, lambda call: call(), lambda _: None, student)
    home.look()
    assert (home.ports().inputs, home.ports().input) == ([STUDENT_NAME, "banjo"], STUDENT_NAME)
    home.choose(midi_in="banjo", midi_out=None)
    assert home.ports().input == "banjo"
    home.choose(midi_in=STUDENT_NAME, midi_out=None)

    assert home.ports().input == STUDENT_NAME
    home.close()


def test_without_a_student_nothing_but_the_ports_is_an_input(make_driver: Any) -> None:
    home = HomePorts(make_driver(), FakeClock(0.0), lambda call: call(), lambda _: None)
    home.look()

    assert (home.ports().inputs, home.ports().input) == ([], None)
    home.close()


def test_the_student_stops_with_the_pass(solos: Any) -> None:
    clock = FakeClock(0.0)
    student = Student(VirtualPlayer(), clock)
    student.pass_begins(PassPlan(solos["beginner"].arrangement, 120.0), 0.0)
    clock.advance(1.0)
    assert student.due()
    student.pass_ends()
    clock.advance(60.0)

    assert student.due() == []


class Sent(list[bytes]):
    """What was sent, by a thread that is waited for."""

    def __init__(self) -> None:
        super().__init__()
        self._came = threading.Condition()

    def append(self, data: bytes) -> None:
        with self._came:
            super().append(data)
            self._came.notify_all()

    def wait_for(self, data: bytes) -> None:
        with self._came:
            assert self._came.wait_for(lambda: data in self, timeout=20)


def test_an_output_that_comes_back_in_mid_pass_is_silenced_and_goes_on(make_driver: Any) -> None:
    driver = make_driver((), ("synth",))
    home = HomePorts(driver, monotonic, lambda call: call(), lambda _: None)
    home.look()
    home.choose(midi_in=None, midi_out="synth")
    send = home.sender()
    assert send is not None
    now = monotonic()
    program, past, still_to_come = b"\xc0\x69", b"\x90\x40\x50", b"\x99\x4c\x7f"
    send([TimedMidi(now, program), TimedMidi(now, past), TimedMidi(now + 1.5, still_to_come)])
    driver.outputs = ()
    home.look()
    assert home.sender() is None
    driver.sent = Sent()
    driver.outputs = ("synth",)
    home.look()
    driver.sent.wait_for(still_to_come)
    home.close()

    # What it may still sound ends; what it forgot it is told again.
    first = len(ALL_NOTES_OFF)
    assert set(driver.sent[:first]) == set(ALL_NOTES_OFF)
    assert driver.sent[first : first + 2] == [program, still_to_come]


def test_nothing_goes_on_after_a_stop(make_driver: Any) -> None:
    driver = make_driver((), ("synth",))
    home = HomePorts(driver, monotonic, lambda call: call(), lambda _: None)
    home.look()
    home.choose(midi_in=None, midi_out="synth")
    send = home.sender()
    assert send is not None
    send([TimedMidi(monotonic() + 600, b"\xc0\x69")])
    home.silence()
    driver.outputs = ()
    home.look()
    driver.sent = Sent()
    driver.outputs = ("synth",)
    home.look()
    driver.sent.wait_for(ALL_NOTES_OFF[-1])
    home.close()

    assert b"\xc0\x69" not in driver.sent


def test_what_a_foot_switchs_own_input_sends_comes_under_its_own_seat_and_its_loss_is_told(make_driver: Any) -> None:
    driver = make_driver(("banjo", "board"))
    home = HomePorts(driver, FakeClock(0.0), lambda call: call(), lambda _: None)
    heard, lost = list[tuple[str, bytes]](), list[str]()
    home.heard = lambda seat, note: heard.append((seat, note.data))
    home.lost = lost.append
    home.choose(midi_in="banjo", midi_out=None, midi_foot="board")
    home.look()
    assert home.ports().foot == "board"
    driver.received[""](1.0, b"\x90\x3e\x50")
    driver.received["foot"](1.0, b"\xb0\x40\x7f")
    driver.inputs = ()
    home.look()
    assert home.instrument == "banjo"  # it is waited for

    assert heard == [(MIDI_SEAT, b"\x90\x3e\x50"), ("foot", b"\xb0\x40\x7f")]
    assert lost == [MIDI_SEAT, "foot"]
    home.close()
