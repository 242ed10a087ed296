"""What comes from an instrument: notes, their ends and bends, and the reading of MIDI messages into them.

The decoder knows MIDI 1.0 (status bytes, Registered Parameter Number 0, Mode 4 "mono": a channel a string) and no MIDI
library: it takes whole messages as bytes with the time they carry. A note-on with velocity 0 is a note-off. An
instrument's notes die away of themselves, so that the end of a note tells of nothing but how the instrument sends
them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from coach.errors import InputError

__all__ = [
    "Bend",
    "Decoder",
    "HeardNote",
    "Latency",
    "NoteEnd",
    "Sound",
    "StrayNote",
    "StringChannels",
    "period_ms",
    "read_string_channels",
]

StringChannels = tuple[int, int, int, int, int]
"""The MIDI channels, 1..16, of strings 1 to 5."""

STRINGS_ON_OWN_CHANNELS: StringChannels = (1, 2, 3, 4, 5)

_BEND_STEPS = 8192
_TWO_SEMITONES = 200
_PERCUSSION = 10
_LOWEST = 36


@dataclass(frozen=True, slots=True)
class HeardNote:
    """A note as it came.

    Attributes:
        seconds: its stamp, on the clock of the take.
        pitch: MIDI note number.
        velocity: 1..127.
        channel: 1..16.
        string: 1..5, None where channels do not tell strings.
        seq: the number of its message in its input; settles the order of equal stamps.
    """

    seconds: float
    pitch: int
    velocity: int
    channel: int = 1
    string: int | None = None
    seq: int = 0


@dataclass(frozen=True, slots=True)
class Bend:
    """A pitch bend as it came.

    Attributes:
        seconds, channel, string, seq: as in a note.
        cents: how far the channel's notes are bent by now, positive upwards.
    """

    seconds: float
    cents: float
    channel: int = 1
    string: int | None = None
    seq: int = 0


@dataclass(frozen=True, slots=True)
class NoteEnd:
    """A note-off as it came.

    Attributes:
        seconds, channel, string, seq: as in a note.
        pitch: of the note that it ends.
    """

    seconds: float
    pitch: int
    channel: int = 1
    string: int | None = None
    seq: int = 0


@dataclass(frozen=True, slots=True)
class StrayNote:
    """A note on a channel that is no string's, where channels tell strings. It is no note of the instrument's.

    Attributes:
        seconds, pitch, channel, seq: as in a note.
        string: None.
    """

    seconds: float
    pitch: int
    channel: int
    seq: int = 0
    string: None = None


Sound = HeardNote | Bend | NoteEnd | StrayNote


def period_ms(pitch: int) -> float:
    """How long a vibration of a pitch lasts, in milliseconds: 440 · 2^((n - 69) / 12) hertz for MIDI note n.

    Equal temperament, A4 = note 69 = 440 Hz (MIDI Tuning; from memory).
    """
    return 1000 / (440 * 2 ** ((pitch - 69) / 12))


_PERIODS = tuple(period_ms(max(_LOWEST, pitch)) for pitch in range(128))


@dataclass(frozen=True, slots=True)
class Latency:
    """How late an instrument hears a note.

    Attributes:
        ms: for every string, in milliseconds.
        by_string: milliseconds by string; where it says anything, ``ms`` is not used, and a note whose string is
            not in it (or not known) has nothing taken off for it.
        periods: vibrations of the note that the instrument needs beside that before it knows the pitch, >= 0. A note
            below MIDI 36, which no banjo has, counts as that, so that there is a limit to what is waited for.
    """

    ms: float = 0.0
    by_string: tuple[tuple[int, float], ...] = ()
    periods: float = 0.0

    def of(self, string: int | None, pitch: int | None = None) -> float:
        """The milliseconds to take off a note of a string and a pitch; without a pitch, as for a bend, no vibration."""
        ms = self.ms
        if self.by_string:
            ms = next((ms for known, ms in self.by_string if known == string), 0.0)
        return ms + self.periods * _PERIODS[pitch] if self.periods and pitch is not None else ms

    def of_sound(self, sound: Sound) -> float:
        """The milliseconds to take off a sound."""
        return self.of(sound.string, None if isinstance(sound, Bend) else sound.pitch)

    @property
    def most(self) -> float:
        """The largest latency that any note can have, in milliseconds."""
        most = max((0.0, *(ms for _, ms in self.by_string))) if self.by_string else self.ms
        return most + self.periods * _PERIODS[0]


class Decoder:
    """Reads MIDI messages in the order of their stamps.

    Args:
        channels: the channels of strings 1 to 5; notes on other channels are strays then, but for percussion (channel
            10), which is passed over. None where channels do not tell strings.
    """

    __slots__ = ("_parameter", "_ranges", "_strings")

    def __init__(self, channels: StringChannels | None = None) -> None:
        self._strings: Mapping[int, int] | None = (
            None if channels is None else {channel: string for string, channel in enumerate(channels, 1)}
        )
        self._ranges: dict[int, int] = {}  # by channel, in cents
        self._parameter: dict[int, tuple[int, int]] = {}  # by channel: the chosen RPN, high and low byte

    def feed(self, seconds: float, data: bytes, seq: int = 0) -> Sound | None:
        """What a message holds, or None: clock bytes, controls, bends and ends on other channels, broken bytes."""
        if len(data) < 3 or not 0x80 <= data[0] < 0xF0 or data[1] > 127 or data[2] > 127:
            return None
        kind, channel = data[0] & 0xF0, (data[0] & 0x0F) + 1
        string = None
        if self._strings is not None:
            string = self._strings.get(channel)
            if string is None:
                is_stray = kind == 0x90 and data[2] > 0 and channel != _PERCUSSION
                return StrayNote(seconds, data[1], channel, seq) if is_stray else None
        if kind == 0x90 and data[2] > 0:
            return HeardNote(seconds, data[1], data[2], channel, string, seq)
        if kind in (0x80, 0x90):
            return NoteEnd(seconds, data[1], channel, string, seq)
        if kind == 0xE0:
            value = data[1] + 128 * data[2] - _BEND_STEPS
            return Bend(seconds, value * self._ranges.get(channel, _TWO_SEMITONES) / _BEND_STEPS, channel, string, seq)
        if kind == 0xB0:
            self._control(channel, data[1], data[2])
        return None

    def _control(self, channel: int, control: int, value: int) -> None:
        """Registered Parameter Number 0, the bend range: controls 101 and 100 choose it, 6 and 38 set it."""
        high, low = self._parameter.get(channel, (127, 127))
        if control in (98, 99):  # a non-registered parameter is chosen instead
            self._parameter[channel] = (127, 127)
        elif control == 101:
            self._parameter[channel] = (value, low)
        elif control == 100:
            self._parameter[channel] = (high, value)
        elif (high, low) == (0, 0) and control in (6, 38):
            cents = self._ranges.get(channel, _TWO_SEMITONES)
            self._ranges[channel] = value * 100 + cents % 100 if control == 6 else cents - cents % 100 + min(value, 99)


def read_string_channels(text: str) -> StringChannels:
    """Read which channels carry strings 1 to 5: ``11-15``, ``15-11`` or ``1,2,3,4,6``.

    Raises:
        InputError: when these are not five different channels in 1..16.
    """
    channels: Iterable[int] = ()
    try:
        if "," in text:
            channels = [int(part) for part in text.split(",")]
        else:
            first, last = (int(part) for part in text.split("-"))
            channels = range(first, last + 1) if first <= last else range(first, last - 1, -1)
    except ValueError:
        pass
    five = tuple(channels) if not isinstance(channels, range) or len(channels) <= 16 else ()
    if len(five) != 5 or len(set(five)) != 5 or not all(1 <= channel <= 16 for channel in five):
        raise InputError(
            f"{text!r} does not name the channels of strings 1 to 5", cure="write it like 11-15 or 1,2,3,4,6"
        )
    return five[0], five[1], five[2], five[3], five[4]
