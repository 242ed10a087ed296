"""The border where arrangement files come in: shape and sense are checked once, in words, and trusted from then on.

What is checked is whether the file makes sense as music on this instrument (every place exists and sounds the pitch
that is written, everything lies in its measure, ids are in order). Whether hands can play it is another question,
answered by :mod:`coach.arranging.rules`: a solo written by hand may break those.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any, Literal, get_args

import msgspec

from coach.arranging.arrangement import (
    ArrangedMeasure,
    Arrangement,
    ChordAt,
    Finger,
    MelodyNote,
    Pluck,
    Role,
    Technique,
    Tier,
)
from coach.errors import TuneError
from coach.instrument.fretboard import is_fret, pitch_at
from coach.instrument.tuning import Tuning
from coach.tunes.chords import read_chord
from coach.tunes.keys import MODES, pitch_class
from coach.tunes.plain_text import plain_text
from coach.tunes.tune import Meter

__all__ = ["read_arrangement"]

_FRACTION = re.compile(r"(\d{1,6})(?:/([1-9]\d{0,5}))?")
_METER = re.compile(r"([1-9]\d?)/(1|2|4|8|16|32)")
_PATH = re.compile(r" - at `\$(.*)`$")
_STEP = re.compile(r"\.(\w+)|\[(\d+|\.\.\.)\]")
_MOST_CAPO = 11
_PITCHES = range(24, 109)
_LEFT_FINGERS = range(1, 5)


class _Record(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A record of the file; a misspelt key is an error, not something to lose."""


class _Chord(_Record, frozen=True):
    at: str
    symbol: str


class _Note(_Record, frozen=True):
    at: str
    length: str
    pitch: int
    lyric: str | None = None
    phrase_start: bool = False
    kept: bool = False
    pluck: str | None = None
    moved: str | None = None


class _Pluck(_Record, frozen=True):
    id: str
    at: str
    length: str
    string: int
    fret: int
    pitch: int
    finger: Finger | None
    role: Role
    technique: Technique = "pick"
    from_fret: int | None = None
    left: int | None = None


class _Measure(_Record, frozen=True):
    number: int
    source_measure: int
    meter: str
    length: str
    tier: Tier
    chords: tuple[_Chord, ...] = ()
    melody: tuple[_Note, ...] = ()
    plucks: tuple[_Pluck, ...] = ()
    same_as: int | None = None
    slot: str | None = None


class _Tuning(_Record, frozen=True):
    name: str
    strings: dict[Literal["1", "2", "3", "4", "5"], int]


class _File(_Record, frozen=True):
    format: Literal["arrangement/1"]
    tune: str
    title: str
    tier: Tier | Literal["mixed"]
    key: str
    meter: str
    slot: str
    tuning: _Tuning
    measures: tuple[_Measure, ...]
    digest: str | None = None
    rights: str = ""
    sounding_key: str | None = None
    capo: int = 0
    source_scale: Literal["1", "2", "1/2", "1/4"] = "1"
    bounce: int = 50
    remarks: tuple[str, ...] = ()


def read_arrangement(data: bytes, where: str) -> tuple[Arrangement, str | None]:
    """An arrangement and the digest that its file claims (None where it claims none).

    Raises:
        TuneError: when the bytes are no arrangement.
    """
    try:
        raw = msgspec.json.decode(data)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise TuneError(f"this is no JSON ({error})", where=where, cure="check the file") from None
    if not isinstance(raw, dict) or raw.get("format") != "arrangement/1":
        raise TuneError('this is no arrangement: "format" is not "arrangement/1"', where=where, cure="check the file")
    try:
        file = msgspec.convert(raw, _File)
    except msgspec.ValidationError as error:
        raise _in_words(str(error), raw, where) from None
    return _Reader(where).arrangement(file), file.digest


def _in_words(message: str, raw: dict[str, Any], where: str) -> TuneError:
    """An error of the decoder with its path told in measures and plucks."""
    found = _PATH.search(message)
    what = _PATH.sub("", message).replace("`", "'")
    place: list[str] = [where]
    value: Any = raw
    for name, index in _STEP.findall(found[1] if found else ""):
        if name:
            value = value.get(name) if isinstance(value, dict) else None
            if name not in {"measures", "plucks", "melody", "chords"}:
                place.append(name)
            kind = {"measures": "measure", "plucks": "pluck", "melody": "melody note", "chords": "chord"}.get(
                name, name
            )
        elif index != "...":
            value = value[int(index)] if isinstance(value, list) else None
            label = value.get("number" if kind == "measure" else "id") if isinstance(value, dict) else None
            place.append(f"{kind} {label}" if isinstance(label, str | int) else f"{kind} {int(index) + 1} of the list")
    return TuneError(what[:1].lower() + what[1:], where=", ".join(place), cure="write it as the format says")


class _Reader:
    """Turns the records of one file into an arrangement; knows the file's name for its errors."""

    def __init__(self, where: str) -> None:
        self._where = where

    def arrangement(self, file: _File) -> Arrangement:
        tuning = self._tuning(file.tuning)
        self._in_range("the capo", file.capo, range(_MOST_CAPO + 1), self._where)
        self._in_range("the bounce", file.bounce, range(50, 68), self._where)
        for key in (file.key, file.sounding_key):
            self._check_key(key)
        for name, text in (
            ("tune", file.tune),
            ("title", file.title),
            ("rights", file.rights),
            ("tuning's name", file.tuning.name),
            *(("remark", remark) for remark in file.remarks),
        ):
            self._check_text(name, text, self._where)
        arrangement = Arrangement(
            tune=file.tune,
            title=file.title,
            rights=file.rights,
            tier=file.tier,
            key=file.key,
            sounding_key=file.sounding_key,
            capo=file.capo,
            meter=self._meter(file.meter, self._where),
            slot=self._positive(file.slot, "the slot", self._where),
            source_scale=Fraction(file.source_scale),
            bounce=file.bounce,
            tuning=tuning,
            remarks=file.remarks,
            measures=tuple(self._measure(measure, tuning, file.capo) for measure in file.measures),
        )
        self._check_whole(arrangement)
        return arrangement

    def _measure(self, measure: _Measure, tuning: Tuning, capo: int) -> ArrangedMeasure:
        place = f"{self._where}, measure {measure.number}"
        length = self._positive(measure.length, "its length", place)
        plucks = tuple(self._pluck(pluck, length, tuning, capo, place) for pluck in measure.plucks)
        if list(plucks) != sorted(plucks, key=lambda pluck: (pluck.at, -pluck.string)):
            raise TuneError(
                "the plucks are out of order", where=place, cure="sort them by position, then from string 5 to string 1"
            )
        for count, pluck in enumerate(plucks, start=1):
            if pluck.id != f"m{measure.number}e{count}":
                raise TuneError(
                    f"the pluck has the id {pluck.id!r}", where=place, cure=f"call it m{measure.number}e{count}"
                )
        if len({(pluck.at, pluck.string) for pluck in plucks}) < len(plucks):
            raise TuneError("a string is struck twice at once", where=place, cure="take one of the two plucks out")
        return ArrangedMeasure(
            number=measure.number,
            source_measure=measure.source_measure,
            meter=self._meter(measure.meter, place),
            length=length,
            tier=measure.tier,
            chords=tuple(
                ChordAt(
                    self._position(change.at, length, f"{place}, chord {change.symbol}"),
                    read_chord(change.symbol, where=place),
                )
                for change in measure.chords
            ),
            melody=tuple(self._note(note, length, place) for note in measure.melody),
            plucks=plucks,
            same_as=measure.same_as,
            slot=None if measure.slot is None else self._positive(measure.slot, "its slot", place),
        )

    def _note(self, note: _Note, length: Fraction, place: str) -> MelodyNote:
        place = f"{place}, melody note at {note.at}"
        if note.kept != (note.pluck is not None):
            raise TuneError(
                "a melody note is kept exactly when a pluck carries it", where=place, cure="write both or neither"
            )
        self._in_range("the pitch", note.pitch, _PITCHES, place)
        self._check_text("lyric", note.lyric or "", place)
        return MelodyNote(
            at=self._position(note.at, length, place),
            length=self._positive(note.length, "its length", place),
            pitch=note.pitch,
            lyric=note.lyric,
            phrase_start=note.phrase_start,
            kept=note.kept,
            pluck=note.pluck,
            moved=None if note.moved is None else self._position(note.moved, length, place),
        )

    def _pluck(self, pluck: _Pluck, length: Fraction, tuning: Tuning, capo: int, place: str) -> Pluck:
        place = f"{place}, pluck {pluck.id}"
        at = self._position(pluck.at, length, place)
        lasting = self._positive(pluck.length, "its length", place)
        if at + lasting > length:
            raise TuneError("it lasts beyond the barline", where=place, cure="shorten it")
        for fret in (pluck.fret, 0 if pluck.from_fret is None else pluck.from_fret):
            if not is_fret(pluck.string, fret, capo=capo):
                raise TuneError(
                    f"string {pluck.string} has no fret {fret}",
                    where=place,
                    cure="strings are 1 to 5, frets 0 to 22 less the capo, and string 5 has none from 1 to 5",
                )
        sounding = pitch_at(tuning, pluck.string, pluck.fret, capo)
        if pluck.pitch != sounding:
            raise TuneError(
                f"string {pluck.string} fret {pluck.fret} sounds {sounding}, not {pluck.pitch}",
                where=place,
                cure="correct the fret or the pitch",
            )
        slurred = pluck.technique != "pick"
        if slurred != (pluck.finger is None) or slurred != (pluck.from_fret is not None):
            raise TuneError(
                "a picked note has a finger and no from_fret, a slurred one a from_fret and no finger",
                where=place,
                cure="correct the technique, finger or from_fret",
            )
        if pluck.left is not None:
            self._in_range("the finger of the left hand", pluck.left, _LEFT_FINGERS, place)
            if pluck.fret == 0:
                raise TuneError("an open string has no finger of the left hand", where=place, cure="take `left` out")
        return Pluck(
            id=pluck.id,
            at=at,
            length=lasting,
            string=pluck.string,
            fret=pluck.fret,
            pitch=pluck.pitch,
            finger=pluck.finger,
            role=pluck.role,
            technique=pluck.technique,
            from_fret=pluck.from_fret,
            left=pluck.left,
        )

    def _check_whole(self, arrangement: Arrangement) -> None:
        """What only the whole tells: measures counted on, and references that lead somewhere."""
        if not any(measure.plucks for measure in arrangement.measures):
            raise TuneError("there is nothing to play", where=self._where, cure="write at least one pluck")
        pitches = {pluck.id: pluck.pitch for _, pluck in arrangement.plucks()}
        expected = 0 if arrangement.measures[0].number == 0 else 1
        for number, measure in enumerate(arrangement.measures, start=expected):
            place = f"{self._where}, measure {measure.number}"
            if measure.number != number:
                raise TuneError(f"measure {number} should stand here", where=place, cure="count the measures on by one")
            if measure.same_as is not None and not expected <= measure.same_as < number:
                raise TuneError(f"same_as names measure {measure.same_as}", where=place, cure="name an earlier measure")
            for note in measure.melody:
                if note.pluck is not None and pitches.get(note.pluck) != note.pitch:
                    raise TuneError(
                        f"no pluck {note.pluck!r} sounds the pitch {note.pitch}",
                        where=f"{place}, melody note at {note.at}",
                        cure="name the pluck that carries the note",
                    )

    def _tuning(self, tuning: _Tuning) -> Tuning:
        if len(tuning.strings) < len(get_args(Literal["1", "2", "3", "4", "5"])):
            raise TuneError("the tuning lacks a string", where=self._where, cure="give the pitch of strings 1 to 5")
        for string, pitch in tuning.strings.items():
            self._in_range(f"the pitch of string {string}", pitch, _PITCHES, self._where)
        first, second, third, fourth, fifth = (tuning.strings[string] for string in ("1", "2", "3", "4", "5"))
        return Tuning(tuning.name, (first, second, third, fourth, fifth))

    def _check_key(self, key: str | None) -> None:
        if key is None:
            return
        tonic, _, mode = key.partition(" ")
        try:
            pitch_class(tonic)
        except ValueError:
            mode = ""
        if mode not in MODES:
            raise TuneError(f"{key!r} is no key", where=self._where, cure="write it like G major or E minor")

    def _check_text(self, name: str, text: str, place: str) -> None:
        if plain_text(text) != text:
            raise TuneError(
                f"the {name} has a character that no sheet can hold", where=place, cure="write it with plain text alone"
            )

    def _in_range(self, name: str, value: int, allowed: range, place: str) -> None:
        if value not in allowed:
            raise TuneError(f"{name} is {value}", where=place, cure=f"choose from {allowed[0]} to {allowed[-1]}")

    def _meter(self, text: str, place: str) -> Meter:
        match = _METER.fullmatch(text)
        if match is None:
            raise TuneError(f"{text!r} is no metre", where=place, cure="write it like 4/4 or 6/8")
        return Meter(int(match[1]), int(match[2]))

    def _fraction(self, text: str, place: str) -> Fraction:
        match = _FRACTION.fullmatch(text)
        if match is None:
            raise TuneError(f"{text!r} is no position or length", where=place, cure="write quarters like 0, 3 or 1/2")
        return Fraction(int(match[1]), int(match[2] or 1))

    def _positive(self, text: str, name: str, place: str) -> Fraction:
        value = self._fraction(text, place)
        if value == 0:
            raise TuneError(f"{name} is nothing", where=place, cure="give it in quarters, more than 0")
        return value

    def _position(self, text: str, length: Fraction, place: str) -> Fraction:
        at = self._fraction(text, place)
        if at >= length:
            raise TuneError(f"{at} lies behind the measure's end", where=place, cure=f"stay below {length}")
        return at
