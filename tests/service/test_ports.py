"""Ports: real ones on a JACK server, and a library that misbehaves in memory."""

import subprocess
import sys
import threading
from collections.abc import Iterator

import pytest
import rtmidi
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import PortError
from coach.service.ports import LOOKS_BEFORE_ANEW, VIRTUAL_INPUT, PortList, RtMidiDriver
from coach.service.watched import Watched


class BrokenLibrary:
    """A library none of whose APIs works."""

    class MidiIn:
        def __init__(self, rtapi: int, name: str) -> None:
            raise RuntimeError("no such device")

    MidiOut = MidiIn

    @staticmethod
    def get_compiled_api() -> list[int]:
        return [2, 3]

    @staticmethod
    def get_api_display_name(api: int) -> str:
        return {2: "ALSA", 3: "Jack"}[api]


def test_no_midi_system_is_said_in_words() -> None:
    driver = RtMidiDriver(module=BrokenLibrary)

    assert driver.ports() == PortList(
        (),
        (),
        "No MIDI answers (ALSA and Jack tried): connect an instrument and load its driver, or start a JACK "
        "server; the pad works without it.",
    )
    with pytest.raises(PortError, match="No MIDI answers"):
        driver.open_input("banjo", lambda stamp, data: None)
    with pytest.raises(PortError, match="No MIDI answers"):
        driver.open_output("synth")


def test_a_system_without_midi_is_not_asked_at_every_look(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []
    monkeypatch.setattr(BrokenLibrary, "get_compiled_api", staticmethod(lambda: asked.append(1) or [2]))
    driver = RtMidiDriver(module=BrokenLibrary)
    missing = {driver.ports().missing for _ in range(LOOKS_BEFORE_ANEW + 2)}

    assert len(asked) == 2
    assert len(missing) == 1


def test_no_library_is_said_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "rtmidi", None)

    driver = RtMidiDriver()

    assert "python-rtmidi is not installed" in driver.ports().missing


@given(data=st.lists(st.integers(0, 255), max_size=8))
def test_what_a_callback_raises_is_counted_and_goes_no_further(data: list[int]) -> None:
    driver = RtMidiDriver(now=lambda: 12.5, module=BrokenLibrary)
    got: list[tuple[float, bytes]] = []

    def received(stamp: float, message: bytes) -> None:
        got.append((stamp, message))
        raise ZeroDivisionError

    driver._callback(received)((data, 0.0), None)

    assert got == [(12.5, bytes(data))]
    assert driver.callback_failures == 1


@given(event=st.one_of(st.none(), st.integers(), st.tuples(st.lists(st.integers()), st.floats())))
def test_a_callback_survives_whatever_the_driver_delivers(event: object) -> None:
    driver = RtMidiDriver(now=lambda: 0.0, module=BrokenLibrary)

    driver._callback(lambda stamp, message: None)(event, None)  # type: ignore[arg-type]

    assert driver.callback_failures in (0, 1)


class Banjo:
    """Another program's MIDI client on the JACK server."""

    def __init__(self) -> None:
        self.client = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="banjo")
        self.client.open_virtual_port("out")

    def unplug(self) -> None:
        self.client.close_port()
        self.client.delete()


@pytest.fixture
def driver(jack_server: str) -> Iterator[RtMidiDriver]:
    driver = RtMidiDriver()
    yield driver
    driver.close()


class Received:
    """Messages as they come from the driver's thread."""

    def __init__(self) -> None:
        self.messages: list[bytes] = []
        self.stamps: list[float] = []
        self.came = threading.Condition()

    def __call__(self, stamp: float, data: bytes) -> None:
        with self.came:
            self.stamps.append(stamp)
            self.messages.append(data)
            self.came.notify_all()

    def wait_for(self, count: int) -> None:
        with self.came:
            assert self.came.wait_for(lambda: len(self.messages) >= count, timeout=20)


def test_alsa_absent_does_not_hide_jack(driver: RtMidiDriver) -> None:
    assert driver.ports() == PortList((VIRTUAL_INPUT,), (), "Jack shows no MIDI input and no MIDI output.")


def test_a_real_input_delivers_what_is_needed_and_vanishes_and_comes_back(driver: RtMidiDriver) -> None:
    received, said = Received(), list[str]()
    ports = Watched(driver, received, said.append)
    banjo = Banjo()
    ports.look()
    assert ports.input == "banjo:out"
    needed = [b"\x90\x3e\x50", b"\xe0\x00\x41", b"\xb0\x40\x7f", b"\xc0\x01"]
    for message in [*needed, b"\xf8", b"\xf0\x01\x02\xf7", b"\x90\x3e\x00"]:
        banjo.client.send_message(message)
    received.wait_for(5)
    assert received.messages == [*needed, b"\x90\x3e\x00"]
    assert received.stamps == sorted(received.stamps)

    banjo.unplug()
    ports.look()
    assert ports.input is None
    banjo = Banjo()
    ports.look()
    banjo.client.send_message(b"\x90\x40\x50")
    received.wait_for(6)
    banjo.unplug()

    assert received.messages[-1] == b"\x90\x40\x50"
    assert [sentence.split()[-1] for sentence in said] == ["use.", "back.", "use."]


def test_a_foot_switch_has_an_input_beside_the_instruments(driver: RtMidiDriver) -> None:
    instrument, foot = Received(), Received()
    board = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="board")
    board.open_virtual_port("out")
    banjo = Banjo()
    driver.open_input("banjo:out", instrument)
    driver.open_input("board:out", foot, "foot")
    assert driver.ports().outputs == ()  # what is opened for it leads nowhere
    banjo.client.send_message(b"\x90\x3e\x50")
    board.send_message(b"\xb0\x40\x7f")
    instrument.wait_for(1)
    foot.wait_for(1)
    driver.close_input("foot")
    banjo.client.send_message(b"\x90\x40\x50")
    instrument.wait_for(2)
    banjo.unplug()
    board.close_port()
    board.delete()

    assert (instrument.messages, foot.messages) == ([b"\x90\x3e\x50", b"\x90\x40\x50"], [b"\xb0\x40\x7f"])


def test_an_instrument_can_be_connected_to_our_own_input(driver: RtMidiDriver) -> None:
    received = Received()
    driver.open_input(VIRTUAL_INPUT, received)
    banjo = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="banjo")
    banjo.open_port(banjo.get_ports().index("coach:in"), "out")
    banjo.send_message(b"\x90\x3e\x50")
    received.wait_for(1)
    banjo.close_port()
    banjo.delete()

    assert received.messages == [b"\x90\x3e\x50"]
    assert "coach:in" not in driver.ports().outputs


def test_a_real_output_sends(driver: RtMidiDriver) -> None:
    received = Received()
    synth = rtmidi.MidiIn(rtapi=rtmidi.API_UNIX_JACK, name="synth")
    synth.set_callback(lambda event, data: received(0.0, bytes(event[0])))
    synth.open_virtual_port("in")
    send = driver.open_output("synth:in")
    send(b"\x99\x4c\x7f")
    received.wait_for(1)
    driver.close_output()
    with pytest.raises(PortError, match="MIDI output 'synth:in' is closed"):
        send(b"\x99\x4c\x7f")  # as the sending thread may, which does not know yet
    synth.cancel_callback()
    synth.close_port()
    synth.delete()

    assert received.messages == [b"\x99\x4c\x7f"]


def test_an_input_that_is_not_there_cannot_be_opened(driver: RtMidiDriver) -> None:
    with pytest.raises(PortError, match=r"MIDI input 'nobody' cannot be opened; connect it, or choose another one\."):
        driver.open_input("nobody", lambda stamp, data: None)
    with pytest.raises(PortError, match="MIDI output 'nobody' cannot be opened"):
        driver.open_output("nobody")


# Runs in a process of its own: what it guards against ends the process.
OPEN_AND_CLOSE = """
import time, rtmidi
from coach.service.ports import RtMidiDriver

driver = RtMidiDriver()
driver.ports()
banjo = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="banjo")
banjo.open_virtual_port("out")
heard = []
for _ in range(40):
    driver.open_input("banjo:out", lambda stamp, data: heard.append(data))
    for _ in range(15):
        banjo.send_message((0x90, 60, 60))
        time.sleep(0.001)
    driver.close_input()
banjo.close_port()
banjo.delete()
driver.close()
print(len(heard) > 100)
"""


def test_an_input_can_be_closed_while_notes_are_coming_in(jack_server: str) -> None:
    done = subprocess.run(
        [sys.executable, "-X", "faulthandler", "-c", OPEN_AND_CLOSE],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )

    assert (done.returncode, done.stdout) == (0, "True\n"), done.stderr
