from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.errors import InputError
from coach.listening.heard import (
    Bend,
    Decoder,
    HeardNote,
    Latency,
    NoteEnd,
    StrayNote,
    period_ms,
    read_string_channels,
)


def test_a_note_on_is_a_note_of_unknown_string_where_channels_do_not_tell_strings() -> None:
    assert Decoder().feed(1.5, bytes([0x92, 55, 80]), 7) == HeardNote(1.5, 55, 80, 3, None, 7)


def test_a_channel_a_string_tells_the_string() -> None:
    assert Decoder((11, 12, 13, 14, 15)).feed(1.5, bytes([0x9C, 55, 80]), 7) == HeardNote(1.5, 55, 80, 13, 3, 7)


def test_a_note_on_a_channel_that_is_no_string_is_a_stray_where_channels_tell_strings() -> None:
    decoder = Decoder((1, 2, 3, 4, 5))

    assert decoder.feed(0.5, bytes([0x96, 55, 80]), 7) == StrayNote(0.5, 55, 7, 7)
    assert decoder.feed(0.5, bytes([0x96, 55, 0])) is None
    assert decoder.feed(0.5, bytes([0x86, 55, 0])) is None
    assert decoder.feed(0.5, bytes([0xE6, 0, 96])) is None


def test_percussion_is_passed_over_unless_it_is_a_strings_channel() -> None:
    assert Decoder((1, 2, 3, 4, 5)).feed(0.0, bytes([0x99, 55, 80])) is None
    assert Decoder((8, 9, 10, 11, 12)).feed(0.0, bytes([0x99, 55, 80])) == HeardNote(0.0, 55, 80, 10, 3)


# MIDI 1.0: a note-on with velocity 0 is a note-off (from memory).
@pytest.mark.parametrize("data", [bytes([0x92, 55, 0]), bytes([0x82, 55, 64]), bytes([0x82, 55, 0])])
def test_a_note_off_ends_a_note_of_its_channel(data: bytes) -> None:
    assert Decoder().feed(1.5, data, 7) == NoteEnd(1.5, 55, 3, None, 7)
    assert Decoder((1, 2, 3, 4, 5)).feed(1.5, data, 7) == NoteEnd(1.5, 55, 3, 3, 7)


@pytest.mark.parametrize(
    "data",
    [
        bytes([0xF8]),
        bytes([0xFE]),
        bytes([0xF0, 1, 2, 0xF7]),
        bytes([0xC0, 105]),
        bytes([0x90, 55]),
        bytes([0x90, 200, 80]),
        b"",
    ],
)
def test_what_is_no_note_is_passed_over(data: bytes) -> None:
    assert Decoder().feed(0.0, data) is None


# MIDI 1.0: a bend of 14 bits, 8192 in the middle; the range is two semitones until RPN 0 sets it (from memory).
@pytest.mark.parametrize(("low", "high", "cents"), [(0, 64, 0.0), (0, 0, -200.0), (0, 96, 100.0), (0, 32, -100.0)])
def test_a_bend_reaches_two_semitones_unless_told_otherwise(low: int, high: int, cents: float) -> None:
    assert Decoder().feed(2.0, bytes([0xE1, low, high]), 3) == Bend(2.0, cents, 2, None, 3)


def test_rpn_0_sets_the_range_of_its_channel_in_semitones_and_cents() -> None:
    decoder = Decoder()
    for data in ((0xB0, 101, 0), (0xB0, 100, 0), (0xB0, 6, 12), (0xB0, 38, 50)):
        assert decoder.feed(0.0, bytes(data)) is None
    bent = decoder.feed(1.0, bytes([0xE0, 0, 96]))
    other = decoder.feed(1.0, bytes([0xE1, 0, 96]))

    assert isinstance(bent, Bend)
    assert isinstance(other, Bend)
    assert (bent.cents, other.cents) == (625.0, 100.0)


def test_another_parameter_does_not_touch_the_range() -> None:
    decoder = Decoder()
    for data in ((0xB0, 101, 0), (0xB0, 100, 0), (0xB0, 99, 0), (0xB0, 98, 0), (0xB0, 6, 12)):
        decoder.feed(0.0, bytes(data))
    bent = decoder.feed(1.0, bytes([0xE0, 0, 96]))

    assert isinstance(bent, Bend)
    assert bent.cents == 100.0


@settings(derandomize=True, deadline=None)
@given(messages=st.lists(st.binary(max_size=4), max_size=20))
def test_any_bytes_are_a_sound_or_nothing(messages: list[bytes]) -> None:
    decoder = Decoder((1, 2, 3, 4, 5))
    for data in messages:
        sound = decoder.feed(0.0, data)
        assert sound is None or sound.string == (None if isinstance(sound, StrayNote) else sound.channel)


def test_a_latency_is_the_same_for_all_strings_or_told_by_string() -> None:
    constant = Latency(12.0)
    told = Latency(by_string=((1, 7.0), (4, 14.0)))

    assert [constant.of(string) for string in (None, 1, 5)] == [12.0, 12.0, 12.0]
    assert [told.of(string) for string in (None, 1, 4, 5)] == [0.0, 7.0, 14.0, 0.0]
    assert (constant.most, told.most, Latency(-3.0).most) == (12.0, 14.0, -3.0)


# A4 is note 69 and 440 Hz (MIDI Tuning); the open strings of a banjo: D4 is 293.665 Hz (computed with pretty_midi).
@pytest.mark.parametrize(("pitch", "hertz"), [(69, 440.0), (62, 293.6648), (50, 146.8324), (67, 391.9954)])
def test_a_period_is_one_vibration_of_the_pitch(pitch: int, hertz: float) -> None:
    assert period_ms(pitch) == pytest.approx(1000 / hertz, rel=1e-6)


def test_a_latency_by_period_adds_vibrations_of_the_note_to_what_is_told_for_its_string() -> None:
    both = Latency(by_string=((4, 14.0),), periods=2.5)

    assert both.of(4, 50) == pytest.approx(14.0 + 2.5 * 1000 / 146.8324, rel=1e-6)
    assert both.of(1, 62) == pytest.approx(2.5 * 1000 / 293.6648, rel=1e-6)
    assert Latency(3.0, periods=2.0).of(None, 69) == pytest.approx(3.0 + 2000 / 440)
    assert both.of(4) == 14.0


@settings(derandomize=True, deadline=None)
@given(pitch=st.integers(0, 127), string=st.sampled_from([None, 1, 2, 3, 4, 5]), periods=st.floats(0, 20))
def test_no_note_has_more_than_the_most_latency(pitch: int, string: int | None, periods: float) -> None:
    for latency in (Latency(-3.0, periods=periods), Latency(by_string=((1, 7.0), (4, -2.0)), periods=periods)):
        assert latency.of(string, pitch) <= latency.most
        assert latency.of(string) <= latency.most


def test_a_bend_has_the_latency_of_its_string_only() -> None:
    latency = Latency(by_string=((4, 14.0),), periods=2.0)

    assert latency.of_sound(Bend(0.0, 100.0, 4, 4)) == 14.0
    assert latency.of_sound(NoteEnd(0.0, 50, 4, 4)) == latency.of_sound(HeardNote(0.0, 50, 80, 4, 4)) > 14.0


@pytest.mark.parametrize(
    ("text", "channels"),
    [
        ("11-15", (11, 12, 13, 14, 15)),
        ("5-1", (5, 4, 3, 2, 1)),
        ("1,2,3,4,6", (1, 2, 3, 4, 6)),
    ],
)
def test_string_channels_are_read_in_the_order_of_the_strings(text: str, channels: tuple[int, ...]) -> None:
    assert read_string_channels(text) == channels


@pytest.mark.parametrize("text", ["", "1", "1-4", "1-6", "13-17", "1,1,2,3,4", "a-b", "1,2,3,4,x", "1-99999999999"])
def test_other_than_five_channels_are_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(InputError, match="channels of strings 1 to 5"):
        read_string_channels(text)
