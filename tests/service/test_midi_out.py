"""Timed MIDI: order, stops, and ports that fail."""

import threading
from collections.abc import Iterator

import pytest

from coach.service.clock import monotonic
from coach.service.midi_out import ALL_NOTES_OFF, TimedMidi, TimedOut


class Port:
    """Takes what is sent, and tells when a certain message came."""

    def __init__(self) -> None:
        self.sent: list[bytes] = []
        self.came = threading.Condition()

    def send(self, data: bytes) -> None:
        with self.came:
            self.sent.append(data)
            self.came.notify_all()

    def wait_for(self, data: bytes) -> None:
        with self.came:
            assert self.came.wait_for(lambda: data in self.sent, timeout=20)


@pytest.fixture
def port() -> Port:
    return Port()


@pytest.fixture
def out(port: Port) -> Iterator[TimedOut]:
    timed = TimedOut(port.send)
    yield timed
    timed.close()


def test_messages_leave_in_the_order_of_their_times(port: Port, out: TimedOut) -> None:
    start = monotonic()
    out.add(TimedMidi(start + 0.001 * number, bytes((0x90, 60 + number, 64))) for number in (3, 1, 2, 0))
    port.wait_for(bytes((0x90, 63, 64)))

    assert port.sent == [bytes((0x90, 60 + number, 64)) for number in range(4)]


def test_no_message_leaves_early(port: Port, out: TimedOut) -> None:
    start = monotonic()
    out.add(TimedMidi(start + 0.003 * number, bytes((0x90, 60 + number, 64))) for number in range(10))
    port.wait_for(bytes((0x90, 69, 64)))

    assert len(out.lateness) == 10
    assert min(out.lateness) >= 0


def test_an_earlier_message_overtakes_one_that_is_waited_for(port: Port, out: TimedOut) -> None:
    out.add([TimedMidi(monotonic() + 600, b"\x90\x01\x01")])
    out.add([TimedMidi(monotonic(), b"\x90\x02\x02")])
    port.wait_for(b"\x90\x02\x02")

    assert port.sent == [b"\x90\x02\x02"]


def test_stop_forgets_the_queue_and_silences_every_channel(port: Port, out: TimedOut) -> None:
    out.add([TimedMidi(monotonic() + 600, b"\x90\x01\x01")])
    out.stop()
    port.wait_for(ALL_NOTES_OFF[-1])

    assert port.sent == list(ALL_NOTES_OFF)
    assert len({data[0] for data in port.sent}) == 16


def test_close_silences_and_ends_the_thread(port: Port) -> None:
    timed = TimedOut(port.send)
    timed.add([TimedMidi(monotonic() + 600, b"\x90\x01\x01")])
    timed.close()

    assert port.sent == list(ALL_NOTES_OFF)
    assert not timed._thread.is_alive()


def test_a_port_that_fails_is_counted_and_the_next_message_still_leaves() -> None:
    sent: list[bytes] = []
    came = threading.Event()

    def send(data: bytes) -> None:
        if data == b"\x90\x01\x01":
            raise OSError
        sent.append(data)
        came.set()

    timed = TimedOut(send)
    timed.add([TimedMidi(0.0, b"\x90\x01\x01"), TimedMidi(0.1, b"\x90\x02\x02")])
    assert came.wait(timeout=20)
    timed.close()

    assert sent[0] == b"\x90\x02\x02"
    assert timed.failures == 1
