"""A solo as a Standard MIDI File.

Type 1, division 24000. The first track has the title for its name and holds tempo, metre, key and markers; then come
``solo``, ``bass``, ``chop`` and ``click``. In the solo, string *n* plays on MIDI channel *n* (1 to 5, counted from 1),
and the marker ``downbeat`` stands where the first measure starts, with the tempo at that tick: so the file is also a
perfect take of itself. The solo's own bounce is played.
Channels: bass 6, chop 7, click 10 (percussion), so that nothing else sounds on the channels of the strings.

Program and key numbers are those of General MIDI level 1, counted from 0: banjo 105, steel guitar 25, acoustic bass 32,
high and low wood block 76 and 77 (checked against the tables of two MIDI libraries).
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction

import mido

from coach.arranging.accompaniment import Backing, accompaniment
from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.arranging.click import Weight, click
from coach.arranging.ringing import ringing, tempo_map, velocity
from coach.sheets.heading import read_key
from coach.tempo import STRAIGHT
from coach.tunes.tune import Meter

__all__ = ["DIVISION", "tick", "to_midi"]

DIVISION = 24000

BANJO = 105

# MIDI channel (from 0) and program of each part of the accompaniment.
_PARTS = {"bass": (5, 32), "chop": (6, 25)}
_PERCUSSION = 9
# Key of the percussion and velocity of each weight of a click.
_CLICKS: dict[Weight, tuple[int, int]] = {"accent": (76, 100), "beat": (77, 84), "light": (77, 50)}
_CLICK_LENGTH = Fraction(1, 8)

# A note ends where its string is sounded again, but no later than after this many quarters.
RING = Fraction(2)

# (tick, rank among events of one tick, message): ends come before beginnings.
_Event = tuple[int, int, mido.Message]


def tick(at: Fraction) -> int:
    """The tick of a written position in quarters; exact for halves, thirds, fifths and their powers in use."""
    return round(at * DIVISION)


def to_midi(arrangement: Arrangement, *, tempo: float = 80.0) -> bytes:
    """Write a solo as a Standard MIDI File.

    Args:
        arrangement: the solo.
        tempo: quarters a minute, > 0; kept to the microsecond a quarter that the format allows.

    Returns:
        The bytes of the file.

    Raises:
        ValueError: when the tempo is out of the range of the format (24 bits of microseconds: 3.6 and up).
    """
    quarter = round(60_000_000 / tempo) if tempo > 0 else 0
    if not 1 <= quarter < 1 << 24:
        raise ValueError(f"tempo must be in range 3.6..6e7 quarters a minute, got {tempo!r}")
    end = tick(sum((measure.length for measure in arrangement.measures), Fraction(0)))
    file = mido.MidiFile(type=1, ticks_per_beat=DIVISION, charset="utf-8")
    ticks = _bounced(arrangement)
    backing = accompaniment(arrangement, tempo=tempo)
    file.tracks.append(_track(arrangement.title, _conductor(arrangement, quarter), end))
    file.tracks.append(_track("solo", _solo(arrangement, ticks), end))
    file.tracks.append(_track("bass", _backing("bass", backing, ticks), end))
    file.tracks.append(_track("chop", _backing("chop", backing, ticks), end))
    file.tracks.append(_track("click", _clicks(arrangement, ticks, tempo), end))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def _bounced(arrangement: Arrangement) -> Callable[[Fraction], int]:
    """The tick of each position, with the bounce of the solo."""
    bent = tempo_map(arrangement, 60)  # at 60 quarters a minute a quarter lasts a second
    return tick if bent.bounce == STRAIGHT else lambda at: round(bent.seconds(at) * DIVISION)


def _track(name: str, events: Iterable[_Event], end: int) -> mido.MidiTrack:
    """A track of events in any order; it ends with the last measure or with its last event."""
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
    now = 0
    for at, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=at - now))
        now = at
    track.append(mido.MetaMessage("end_of_track", time=max(0, end - now)))
    return track


def _conductor(arrangement: Arrangement, quarter: int) -> Iterator[_Event]:
    yield 0, 0, mido.MetaMessage("set_tempo", tempo=quarter)
    if arrangement.rights:
        yield 0, 0, mido.MetaMessage("copyright", text=arrangement.rights)
    yield 0, 0, mido.MetaMessage("key_signature", key=_key_signature(arrangement))
    yield 0, 1, mido.MetaMessage("marker", text="downbeat")
    starts = arrangement.starts()
    shown = None
    for measure in arrangement.measures:
        meter = _notated(measure)
        if meter != shown:
            shown = meter
            signature = mido.MetaMessage("time_signature", numerator=meter.count, denominator=meter.unit)
            yield tick(starts[measure.number]), 0, signature


def _notated(measure: ArrangedMeasure) -> Meter:
    """The metre that makes a reader's barlines fall where ours do: a pickup of a quarter is a measure of 1/4."""
    if measure.length == measure.meter.length:
        return measure.meter
    unit = max(measure.meter.unit, 4 * measure.length.denominator)
    return Meter(int(measure.length * unit / 4), unit) if unit & (unit - 1) == 0 else measure.meter


def _key_signature(arrangement: Arrangement) -> str:
    """The key signature of what sounds, as mido names it: by its major tonic."""
    fifths = read_key(arrangement.sounding_key or arrangement.key).fifths
    return ("Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#")[fifths + 6]


def _solo(arrangement: Arrangement, ticks: Callable[[Fraction], int]) -> Iterator[_Event]:
    for channel in range(5):
        yield 0, 1, mido.Message("program_change", channel=channel, program=BANJO)
    for each in ringing(arrangement):
        note = {"channel": each.pluck.string - 1, "note": each.pluck.pitch}
        end = min(each.until, each.start + max(RING, each.pluck.length))
        yield ticks(each.start), 2, mido.Message("note_on", velocity=velocity(each.pluck), **note)
        yield ticks(end), 0, mido.Message("note_off", velocity=64, **note)


def _backing(part: str, backing: Iterable[Backing], ticks: Callable[[Fraction], int]) -> Iterator[_Event]:
    channel, program = _PARTS[part]
    yield 0, 1, mido.Message("program_change", channel=channel, program=program)
    for sound in backing:
        if sound.part == part:
            for pitch in sound.pitches:
                note = {"channel": channel, "note": pitch}
                yield ticks(sound.at), 2, mido.Message("note_on", velocity=88 if sound.accent else 72, **note)
                yield ticks(sound.at + sound.length), 0, mido.Message("note_off", velocity=64, **note)


def _clicks(arrangement: Arrangement, ticks: Callable[[Fraction], int], tempo: float) -> Iterator[_Event]:
    for each in click(arrangement, tempo=tempo):
        key, loud = _CLICKS[each.weight]
        note = {"channel": _PERCUSSION, "note": key}
        yield ticks(each.at), 2, mido.Message("note_on", velocity=loud, **note)
        yield ticks(each.at + _CLICK_LENGTH), 0, mido.Message("note_off", velocity=64, **note)
