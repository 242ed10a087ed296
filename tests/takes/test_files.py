from __future__ import annotations

import io
import random
from collections.abc import Callable
from dataclasses import replace

import mido
import pytest

from coach.errors import TakeError
from coach.takes.files import read_take, write_take
from coach.takes.recorder import Recorder
from coach.takes.take import Take


def saved(*tracks: list[mido.Message | mido.MetaMessage], division: int = 480, kind: int = 1) -> bytes:
    file = mido.MidiFile(type=kind, ticks_per_beat=division)
    for track in tracks:
        file.tracks.append(mido.MidiTrack(track))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def on(pitch: int, time: int, channel: int = 0) -> mido.Message:
    return mido.Message("note_on", note=pitch, velocity=80, time=time, channel=channel)


def tempo(qpm: float, time: int = 0) -> mido.MetaMessage:
    return mido.MetaMessage("set_tempo", tempo=round(60_000_000 / qpm), time=time)


def marker(text: str, time: int = 0) -> mido.MetaMessage:
    return mido.MetaMessage("marker", text=text, time=time)


def text(words: str, time: int = 0) -> mido.MetaMessage:
    return mido.MetaMessage("text", text=words, time=time)


def recorded(seed: int = 3) -> Take:
    rng = random.Random(seed)
    recorder = Recorder()
    now = 1.0
    for number in range(3):
        mark = recorder.begin_pass(now, rng.choice([80.0, 93.7, 140.1]), **({"first": 1, "last": 2} if number else {}))
        for _ in range(20):
            now += rng.uniform(0.0, 0.3)
            recorder.add(now, bytes([0x90 | rng.randint(0, 4), rng.randint(50, 70), rng.randint(0, 127)]))
            recorder.add(now, bytes([0xE0 | rng.randint(0, 4), rng.randint(0, 127), rng.randint(0, 127)]))
        if number == 1:
            recorder.stop_pass(now + 0.1)
        now += 2.0
        assert mark.seconds <= now
    return recorder.take(now + 5.0)


def test_a_take_that_was_written_is_read_again_stamp_for_stamp() -> None:
    for seed in range(20):
        take = recorded(seed)

        assert read_take(write_take(take)) == take
        assert write_take(read_take(write_take(take))) == write_take(take)


def test_the_written_file_is_what_the_contract_says_as_mido_reads_it() -> None:
    file = mido.MidiFile(file=io.BytesIO(write_take(recorded())))
    (track,) = file.tracks
    events = []
    tick = 0
    for event in track:
        tick += event.time
        events.append((tick, event))
    downbeats = [tick for tick, event in events if event.type == "marker" and event.text == "downbeat"]

    assert file.ticks_per_beat == 24000
    assert len(downbeats) == 3
    for downbeat in downbeats:
        assert any(tick == downbeat and event.type == "set_tempo" for tick, event in events)
    assert [event.text for _, event in events if event.type == "text"] == ["measures 1-2", "measures 1-2"]


def test_seconds_go_by_the_files_own_tempo_events() -> None:
    take = read_take(saved([tempo(60.0), on(55, 480), tempo(120.0), on(57, 480)], division=480))

    assert [message.seconds for message in take.messages] == [1.0, 1.5]
    assert (take.tempo, take.division, take.end) == (60.0, 480, 1.5)


def test_without_a_tempo_event_a_file_runs_at_120() -> None:
    take = read_take(saved([on(55, 480)]))

    assert (take.tempo, take.messages[0].seconds) == (120.0, 0.5)


def test_a_take_without_downbeats_has_no_passes() -> None:
    assert read_take(saved([tempo(60.0), marker("verse"), on(55, 0)])).passes == ()


@pytest.mark.parametrize(
    ("words", "measures"),
    [
        ("measures 5-6", (5, 6)),
        ("Measures 5 - 6", (5, 6)),
        ("measure 7", (7, 7)),
        ("measures 0-3", (0, 3)),
        ("all of it", (None, None)),
    ],
)
def test_a_downbeat_tells_tempo_and_measures_at_its_tick(words: str, measures: tuple[int | None, int | None]) -> None:
    data = saved(
        [tempo(120.0), marker("downbeat", 960), text(words), tempo(60.0), marker("Downbeat ", 480), tempo(90.0)],
        [on(55, 1000)],
    )
    first, second = read_take(data).passes

    assert (first.seconds, first.tempo, first.first, first.last) == (1.0, 60.0, *measures)
    assert (second.seconds, second.first) == (2.0, None)
    assert second.tempo == pytest.approx(90.0, abs=1e-4)  # whole microseconds a quarter


def test_a_stop_belongs_to_the_pass_before_it() -> None:
    data = saved(
        [
            tempo(60.0),
            marker("downbeat", 480),
            marker("stop", 480),
            marker("downbeat", 480),
            on(55, 480),
            marker("downbeat", 480),
            marker("stop", 240),
        ]
    )

    assert [mark.stopped_seconds for mark in read_take(data).passes] == [2.0, None, 5.5]


def test_tracks_run_together_and_the_longest_ends_the_take() -> None:
    take = read_take(saved([tempo(60.0), on(55, 960)], [on(57, 480)], [text("end", 1440)]))

    assert [message.data[1] for message in take.messages] == [57, 55]
    assert take.end == 3.0


def test_running_status_and_note_ons_of_velocity_0_are_read(midi: Callable[..., bytes]) -> None:
    track = bytes([0x00, 0x90, 55, 80, 0x60, 55, 0, 0x60, 57, 90])
    take = read_take(midi(track, division=96))

    assert [message.data.hex() for message in take.messages] == ["903750", "903700", "90395a"]


def test_clock_and_active_sensing_bytes_are_passed_over(midi: Callable[..., bytes]) -> None:
    track = bytes([0x00, 0xF8, 0x00, 0x90, 55, 80, 0x10, 0xFE, 0x10, 0xF8, 0x10, 0x90, 57, 80])
    take = read_take(midi(track, division=96))

    assert [message.data[1] for message in take.messages] == [55, 57]


def test_system_exclusive_messages_are_passed_over(midi: Callable[..., bytes]) -> None:
    track = bytes([0x00, 0xF0, 3, 1, 2, 0xF7, 0x00, 0x90, 55, 80])

    assert len(read_take(midi(track, division=96)).messages) == 1


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", r"no Standard MIDI File \(it is empty\)"),
        (b"MThd", r"no Standard MIDI File \(it ends too early\)"),
        (b"X:1", r"no Standard MIDI File \(it does not begin with MThd\)"),
        (b"X:1\nT:Tune\nK:G\n", r"no Standard MIDI File \(it does not begin with MThd\)"),
        (b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0MTrk\x00\x00\x00\x09\x00\x90", "no Standard MIDI File"),
        (b"MThd\x00\x00\x00\x06\x00\x02\x00\x00\x01\xe0", "separate songs"),
        (b"MThd\x00\x00\x00\x06\x00\x01\x00\x00\xe7\x28", "film frames"),
        (b"MThd\x00\x00\x00\x06\x00\x01\x00\x00\x00\x00", "film frames"),
        (b"MThd" + bytes(20_000_000), "too many for a take"),
    ],
)
def test_a_bad_file_is_refused_in_one_sentence_with_its_name(data: bytes, what: str) -> None:
    with pytest.raises(TakeError, match=what) as caught:
        read_take(data, "evening.mid")

    assert str(caught.value).startswith("evening.mid: ")
    assert str(caught.value).endswith(".")


def test_a_key_signature_that_is_none_is_refused_too(midi: Callable[..., bytes]) -> None:
    with pytest.raises(TakeError, match="Could not decode key"):
        read_take(midi(bytes([0x00, 0xFF, 0x59, 2, 48, 0])))


def test_noise_gives_a_take_or_one_sentence() -> None:
    rng = random.Random(8)
    good = write_take(recorded())
    outcomes = set()
    for round_ in range(400):
        data = bytearray(good)
        for _ in range(rng.randint(1, 6)):
            data[rng.randrange(len(data))] = rng.randrange(256)
        try:
            outcomes.add(type(read_take(bytes(data if round_ % 2 else data[: rng.randint(10, len(data))]))))
        except TakeError as error:
            outcomes.add(type(error))

    assert outcomes == {Take, TakeError}


def test_a_take_of_another_division_is_not_written() -> None:
    with pytest.raises(ValueError, match="division 24000"):
        write_take(read_take(saved([on(55, 0)])))


def test_a_dropped_note_is_followed_by_the_reason_which_is_passed_over_when_the_take_is_read() -> None:
    recorder = Recorder()
    recorder.begin_pass(1.0, 100.0, first=5, last=6)
    recorder.add(1.0, bytes(on(67, 0).bin()))
    recorder.add(1.5, bytes(on(55, 0).bin()))
    recorder.drop(1.0, 67, "octave ghost")
    take = recorder.take(3.0)
    events = list(mido.MidiFile(file=io.BytesIO(write_take(take)), charset="utf-8").tracks[0])
    texts = [(events[i - 1].type, event.time, event.text) for i, event in enumerate(events) if event.type == "text"]

    assert texts == [("marker", 0, "measures 5-6"), ("note_on", 0, "dropped 67: octave ghost")]
    assert read_take(write_take(take)) == replace(take, dropped=())
