from __future__ import annotations

import pytest

from coach.errors import TakeError
from coach.takes.files import read_take, write_take
from coach.takes.recorder import Recorder
from coach.takes.take import TakeDrop

NOTE = bytes([0x90, 55, 80])


def test_stamps_are_on_their_ticks_before_anyone_sees_them() -> None:
    recorder = Recorder()
    message = recorder.add(1.23456789, NOTE)

    assert message.seconds == recorder.grid.seconds(message.tick) == recorder.grid.snap(1.23456789)
    assert message.seconds == read_take(write_take(recorder.take())).messages[0].seconds


def test_a_pass_is_played_by_the_seconds_and_the_tempo_that_the_take_can_hold() -> None:
    recorder = Recorder()
    mark = recorder.begin_pass(2.00001, 93.7, first=5, last=6)
    (read,) = read_take(write_take(recorder.take(9.0))).passes

    assert read == mark
    assert mark.tempo == pytest.approx(93.7, abs=1e-4)
    assert (mark.first, mark.last) == (5, 6)


@pytest.mark.parametrize(
    "data", [b"", b"\xf8", b"\xf0\x01\xf7", b"\x90\x37", b"\x90\x37\x50\x00", b"\x90\xc8\x50", b"\x37\x50"]
)
def test_what_is_no_whole_channel_message_is_not_kept(data: bytes) -> None:
    recorder = Recorder()
    recorder.add(1.0, data)
    recorder.add(1.5, b"\xc0\x69")

    assert [message.data for message in read_take(write_take(recorder.take())).messages] == [b"\xc0\x69"]


def test_notes_may_be_recorded_out_of_order() -> None:
    recorder = Recorder()
    recorder.add(2.0, NOTE)
    recorder.add(1.0, bytes([0x90, 57, 80]))

    assert [message.data[1] for message in recorder.take().messages] == [57, 55]


def test_a_downbeat_that_never_came_leaves_no_trace() -> None:
    recorder = Recorder()
    recorder.begin_pass(3.0, 90.0)
    recorder.cancel_pass()
    recorder.begin_pass(2.5, 60.0)
    recorder.add(3.0, NOTE)

    plain = Recorder()
    plain.begin_pass(2.5, 60.0)
    plain.add(3.0, NOTE)
    assert recorder.take() == plain.take()


def test_the_take_ends_with_the_last_that_was_told() -> None:
    recorder = Recorder()
    recorder.add(1.0, NOTE)
    recorder.now(2.0)

    assert recorder.take().end == 2.0
    assert recorder.take(1.5).end == 2.0
    assert recorder.take(3.0).end == 3.0


def test_the_journal_brings_a_recorder_back() -> None:
    journal: list[dict[str, object]] = []
    recorder = Recorder(journal.append)
    recorder.begin_pass(1.0, 93.7, first=1, last=2)
    recorder.add(1.1, NOTE)
    recorder.stop_pass(1.5)
    recorder.begin_pass(4.0, 80.0)
    recorder.cancel_pass()
    recorder.now(3.5)
    again = Recorder()
    for entry in journal:
        again.apply(entry)

    assert again.take() == recorder.take()
    assert recorder.take().passes[0].stopped_seconds == recorder.grid.snap(1.5)


def test_entries_of_other_kinds_are_passed_over() -> None:
    recorder = Recorder()
    recorder.apply({"kind": "weather"})

    assert recorder.take().messages == ()


@pytest.mark.parametrize(
    "entry",
    [
        {},
        {"kind": "midi"},
        {"kind": "midi", "tick": 1, "data": "xx"},
        {"kind": "midi", "tick": 1, "data": "f8"},
        {"kind": "pass", "tick": "a"},
        {"kind": "stop", "tick": 1},
        {"kind": "cancelled"},
    ],
)
def test_an_entry_that_no_recorder_wrote_is_refused(entry: dict[str, object]) -> None:
    with pytest.raises(TakeError, match="journal has an entry"):
        Recorder().apply(entry)


def test_why_a_note_did_not_count_is_kept_with_it_and_brought_back_by_the_journal() -> None:
    entries: list[dict[str, object]] = []
    recorder = Recorder(entries.append)
    message = recorder.add(1.5, NOTE)
    recorder.drop(message.seconds, 55, "octave ghost")
    again = Recorder()
    for entry in entries:
        again.apply(entry)

    assert recorder.take().dropped == (TakeDrop(message.tick, 55, "octave ghost"),)
    assert again.take() == recorder.take()
