"""Reading a Standard MIDI File: finding the melody, laying it on a grid, finding measures and key.

References:
    Standard MIDI Files 1.0: without a time signature the metre is 4/4 (from memory).
    Krumhansl and Kessler 1982, Psychological Review 89, 334-368: the key profiles (from memory).
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction
from io import BytesIO
from itertools import pairwise
from typing import Any

from coach.errors import TuneError
from coach.tunes.draft import MOST_MEASURES, Draft, MeasureWriter, remarks_on
from coach.tunes.keys import Key, spell
from coach.tunes.tune import Measure, Meter, Note

__all__ = ["read_midi"]

_DRUMS = 9
_SIXTEENTH = Fraction(1, 4)
_TRIPLET = Fraction(1, 3)
_BASS_BELOW = 50
_MOST_NOTES = 20_000
_MOST_BYTES = 500_000  # a note takes eight bytes at the most, and a song of 20,000 notes has few bytes beside them
_LONGEST_DELTA = 0x0FFFFFFF  # Standard MIDI Files 1.0: a number of variable length has four bytes at the most
_MELODY_WORDS = ("melod", "vocal", "voice", "lead", "sing", "tune", "solo")
_MAJOR = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
_MINOR = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)


@dataclass(frozen=True, slots=True, order=True)
class _Played:
    """A note of the file, in quarters from its start."""

    start: Fraction
    end: Fraction
    pitch: int


@dataclass(slots=True)
class _Voice:
    """The notes of one channel of one track."""

    track: int
    name: str
    notes: list[_Played] = field(default_factory=list)


@dataclass(slots=True)
class _File:
    voices: list[_Voice] = field(default_factory=list)
    meters: list[tuple[Fraction, Meter]] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)
    words: dict[Fraction, str] = field(default_factory=dict)
    title: str = ""
    rights: str = ""


def read_midi(data: bytes, *, where: str, part: str | int | None) -> Draft:
    """Read the melody of a file.

    Args:
        data: the bytes of the file.
        where: the name of the file, for errors.
        part: the track with the melody, by name or counted from 1; None to find it.

    Raises:
        TuneError: when it cannot be read, or has no melody.
    """
    file = _parse(data, where)
    if not file.voices:
        raise TuneError("there is no melody in this file", where=where, cure="give a file with notes in one track")
    voice = _choose(file.voices, part, where)
    melody = _quantised(_one_at_a_time(voice.notes))
    words = _lay_words(file.words, voice.notes, melody)
    found = {"voices"} if part is None and len(file.voices) > 1 else set()
    remarks = list(remarks_on(found))
    if found:
        remarks = [f"The melody is taken from track {voice.track}{f' ({voice.name})' if voice.name else ''}."]
    if not file.meters:
        remarks.append("The source has no time signature: it is read in 4/4.")
    key = _key(file.keys, melody)
    measures = _bar(melody, words, file.meters)
    title = file.title or where.rsplit(".", 1)[0]
    return Draft(title, file.rights, key, measures, tuple(remarks), key_told=False)


def _parse(data: bytes, where: str) -> _File:
    import mido
    from mido.midifiles.meta import KeySignatureError

    if len(data) > _MOST_BYTES:
        raise TuneError("the MIDI file is larger than 500 kB", where=where, cure="give a file with the tune alone")
    try:
        source = mido.MidiFile(file=BytesIO(data), clip=True)
    except (KeySignatureError, OSError, EOFError, ValueError, LookupError, TypeError, AttributeError) as error:
        raise TuneError("this is no MIDI file that can be read", where=where, cure="save it again") from error
    if source.ticks_per_beat <= 0 or source.ticks_per_beat >= 0x8000:
        raise TuneError(
            "its time is counted in frames, not in beats", where=where, cure="save it with a tempo in beats"
        )
    if source.type == 2:
        raise TuneError("it holds several songs (type 2)", where=where, cure="save one song as type 0 or 1")
    file = _File()
    for number, track in enumerate(source.tracks, start=1):
        _read_track(file, number, track, source.ticks_per_beat, where)
    file.meters.sort(key=lambda change: change[0])
    if sum(len(voice.notes) for voice in file.voices) > _MOST_NOTES:
        raise TuneError("there are more than 20 000 notes", where=where, cure="give a file with the tune alone")
    return file


def _read_track(file: _File, number: int, track: Iterable[Any], ticks_per_beat: int, where: str) -> None:
    sounding: dict[tuple[int, int], Fraction] = {}
    notes: dict[int, list[_Played]] = defaultdict(list)
    ticks, name = 0, ""
    for message in track:
        if message.time > _LONGEST_DELTA:
            raise TuneError("a time in it is longer than the format allows", where=where, cure="save it again")
        ticks += message.time
        at = Fraction(ticks, ticks_per_beat)
        match message.type:
            case "note_on" | "note_off":
                start = sounding.pop((message.channel, message.note), None)
                if start is not None and at > start:
                    notes[message.channel].append(_Played(start, at, message.note))
                if message.type == "note_on" and message.velocity > 0:
                    sounding[message.channel, message.note] = at
            case "time_signature":
                if message.numerator < 1 or message.denominator > 32:
                    raise TuneError("its time signature cannot be used", where=where, cure="save it in 4/4 or the like")
                file.meters.append((at, Meter(message.numerator, message.denominator)))
            case "key_signature":
                file.keys.append(message.key)
            case "lyrics":
                file.words.setdefault(at, _text(message.text))
            case "track_name":
                name = name or _text(message.name)
            case "copyright":
                file.rights = file.rights or _text(message.text)
    file.title = file.title or (name if number == 1 else "")
    for channel, played in notes.items():
        if channel != _DRUMS:
            file.voices.append(_Voice(number, name, sorted(played)))


def _text(text: str) -> str:
    """A text of the file: mido reads Latin-1, most programs write UTF-8."""
    with suppress(UnicodeError):
        text = text.encode("latin-1").decode("utf-8")
    return " ".join(text.replace("\x00", "").strip("\\/").split())


def _choose(voices: Sequence[_Voice], part: str | int | None, where: str) -> _Voice:
    if part is not None:
        wanted = str(part).strip().lower()
        for voice in voices:
            if wanted in {str(voice.track), voice.name.lower()}:
                return voice
        names = ", ".join(f"{voice.track} {voice.name}".strip() for voice in voices[:12])
        raise TuneError(f"there are no notes in a track {part!r}", where=where, cure=f"choose one of {names}")

    def like_a_melody(voice: _Voice) -> tuple[bool, bool, bool, int]:
        alone = sum(after.start >= before.end - _SIXTEENTH for before, after in pairwise(voice.notes))
        single = alone >= 0.9 * (len(voice.notes) - 1)
        mean = sum(note.pitch for note in voice.notes) / len(voice.notes)
        named = any(word in voice.name.lower() for word in _MELODY_WORDS)
        return named, single, mean >= _BASS_BELOW, len({note.start for note in voice.notes})

    return max(voices, key=like_a_melody)


def _one_at_a_time(notes: Sequence[_Played]) -> list[_Played]:
    """The top line: the highest of notes that start together, each cut off where the next begins."""
    top: list[_Played] = []
    for note in notes:
        if top and note.start - top[-1].start < Fraction(1, 16):
            if note.pitch > top[-1].pitch:
                top[-1] = _Played(top[-1].start, note.end, note.pitch)
            continue
        if top and note.start < top[-1].end:
            top[-1] = _Played(top[-1].start, note.start, top[-1].pitch)
        top.append(note)
    return top


def _quantised(notes: Sequence[_Played]) -> list[_Played]:
    """The notes on a grid, for each quarter the one of sixteenths or of triplet eighths that its onsets lie nearer to.

    A gap of a sixteenth or less before the next note is closed.
    """
    beats: dict[int, list[Fraction]] = defaultdict(list)
    for note in notes:
        beats[round(note.start * 12) // 12].append(note.start)

    def error(starts: Sequence[Fraction], grid: Fraction) -> Fraction:
        return sum((abs(start - round(start / grid) * grid) for start in starts), Fraction(0))

    grids = {
        beat: _TRIPLET if 2 * error(starts, _TRIPLET) < error(starts, _SIXTEENTH) else _SIXTEENTH
        for beat, starts in beats.items()
    }
    starts = [round(note.start / (grid := grids[round(note.start * 12) // 12])) * grid for note in notes]
    laid: list[_Played] = []
    for index, note in enumerate(notes):
        grid = grids[round(note.start * 12) // 12]
        start = starts[index]
        end = max(start + grid, round(note.end / grid) * grid)
        if index + 1 < len(notes):
            following = starts[index + 1]
            if following <= start:
                continue
            end = following if end > following or following - end <= _SIXTEENTH else end
        laid.append(_Played(start, end, note.pitch))
    return laid


def _lay_words(words: dict[Fraction, str], notes: Sequence[_Played], melody: Sequence[_Played]) -> dict[Fraction, str]:
    """The syllables by the start of the note on the grid that each lies nearest to."""
    starts = [note.start for note in melody]
    laid: dict[Fraction, str] = {}
    if not notes:
        return laid
    for at, text in words.items():
        place = bisect_left(starts, at)
        near = min(starts[max(0, place - 1) : place + 1], key=lambda start: abs(start - at), default=None)
        if near is not None and text and abs(near - at) < _SIXTEENTH:
            laid.setdefault(near, text)
    return laid


def _key(names: Sequence[str], melody: Sequence[_Played]) -> Key:
    """The key that the file names; one of C major that does not fit, or none, gives way to the best profile."""
    weights = [Fraction(0)] * 12
    for note in melody:
        weights[note.pitch % 12] += note.end - note.start
    if names and names[0] != "C":
        name = names[0]
        return Key(name.rstrip("m"), "minor" if name.endswith("m") else "major")
    if names and sum(weights[pc] for pc in (0, 2, 4, 5, 7, 9, 11)) >= sum(weights) * Fraction(9, 10):
        return Key("C")

    def fit(tonic: int, profile: Sequence[float]) -> float:
        mean = sum(profile) / 12
        spread = sum((value - mean) * (value - mean) for value in profile)
        return sum(
            float(weights[(tonic + step) % 12]) * (value - mean) for step, value in enumerate(profile)
        ) / math.sqrt(spread)

    _, tonic, mode = max((fit(tonic, profile), -tonic, mode) for tonic in range(12) for mode, profile in _PROFILES)
    fifths = Key(spell(-tonic, 1), mode).fifths
    return Key(spell(-tonic, -1 if fifths < 0 or fifths == 6 else 1), mode)


_PROFILES = (("major", _MAJOR), ("minor", _MINOR))


def _bar(
    melody: Sequence[_Played], words: dict[Fraction, str], meters: Sequence[tuple[Fraction, Meter]]
) -> tuple[Measure, ...]:
    meter = next((meter for at, meter in meters if at <= 0), meters[0][1] if meters else Meter(4, 4))
    changes = [change for change in meters if change[0] > 0]
    start = Fraction(0)
    writer = MeasureWriter(meter)
    left = list(melody)
    tail = Fraction(-1)  # where the note held over the last barline goes on
    while left and len(writer.measures) <= MOST_MEASURES:
        while changes and changes[0][0] <= start:
            writer.meter = changes.pop(0)[1]
        length = writer.meter.length
        if not writer.measures and left[0].start >= start + length:
            silent = min([left[0].start, *(at for at, _ in changes[:1])]) - start
            start += max(1, silent // length) * length
            continue
        end = start + length
        if not writer.measures and 2 * (left[0].start - start) >= length:
            start = left[0].start  # a pickup
        while left and left[0].start < end:
            note = left.pop(0)
            here = min(note.end, end)
            writer.rest_until(note.start - start)
            tied = note.start == tail
            syllable = None if tied else words.get(note.start)
            writer.add_note(Note(Fraction(0), here - note.start, note.pitch, syllable), tied=tied)
            if note.end > end:
                tail = end
                left.insert(0, _Played(end, note.end, note.pitch))
                break
        writer.rest_until(end - start)
        writer.bar()
        start = end
    return tuple(writer.measures)
