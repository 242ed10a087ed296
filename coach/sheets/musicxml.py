"""A solo as MusicXML 4.0: the tune on a staff with its words and chords, the tablature under it.

Conventions
    Two parts: the tune (left out where there is none), and the banjo with a tablature of five lines. Both are written
    as the player thinks them, in the key of the shape; with a capo a ``<transpose>`` says what sounds. The tune's
    clef is a treble clef with an 8 below, so its pitches are those that sound. In ``<staff-tuning>`` line 1 is the
    lowest line and string 5, line 5 is string 1; the pitches are those without capo.
    Repeats are written out, as in the arrangement. A pickup is measure 0, implicit. A tune's note that this tier
    leaves out has a note head in parentheses. ``<pluck>`` is the finger of the right hand, T, I or M, ``<fingering>``
    that of the left. A string that sounds longer than one written value is tied; notes struck together that end apart
    stand in voices of their own.
    The ids of the notes are those of the MEI: a pluck's own, and ``m<number>n<k>`` for the tune.
    What has no element of its own (tier, slot and the like) stands in ``<miscellaneous>``.

The elements are written as they are: a general library for scores leaves the tuning of the strings out, puts the day's
date in, and takes some 16 ms for each measure.

References:
    MusicXML 4.0, W3C Community Group Final Report.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import TypeVar
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.instrument.fretboard import STRINGS
from coach.sheets.harmony_xml import write_harmony
from coach.sheets.heading import read_key
from coach.sheets.notation import Piece
from coach.sheets.score_head import BANJO_PART, TUNE_PART, add, write_head, write_page_start
from coach.sheets.spelling import Accidentals, Spelt, spelt
from coach.sheets.written_notes import Struck, Sung, Written, struck_voices, sung_measures
from coach.tunes.tune import Meter

__all__ = ["to_musicxml"]

T = TypeVar("T")

_TYPES = {
    1: "whole",
    2: "half",
    4: "quarter",
    8: "eighth",
    16: "16th",
    32: "32nd",
    64: "64th",
    128: "128th",
    256: "256th",
}
_ALTERS = {"ff": -2, "f": -1, "n": 0, "s": 1, "x": 2}
_ACCIDENTALS = {"ff": "flat-flat", "f": "flat", "n": "natural", "s": "sharp", "x": "double-sharp"}
_LETTERS = {"hammer-on": "H", "pull-off": "P"}

_Chord = tuple[Fraction, ET.Element]


def to_musicxml(arrangement: Arrangement, *, tempo: float = 80.0) -> str:
    """Write a solo as MusicXML.

    Args:
        arrangement: the solo; without a melody only the tablature is written.
        tempo: of the tempo mark, in quarters a minute, > 0.

    Returns:
        The document as text, to be stored as UTF-8.

    Raises:
        InputError: when a length cannot be written in notes.
    """
    return _Writer(arrangement, tempo).document()


class _Writer:
    """Builds one document."""

    def __init__(self, arrangement: Arrangement, tempo: float) -> None:
        self.arrangement = arrangement
        self.tempo = tempo
        self.fifths = read_key(arrangement.key).fifths
        sung = any(measure.melody for measure in arrangement.measures)
        self.sung = list(sung_measures(arrangement)) if sung else []
        self.struck = [struck_voices(measure, measure.slot or arrangement.slot) for measure in arrangement.measures]
        self.divisions = self._divisions()
        self.slurs = _numbered(arrangement)
        self.in_word = False

    def _divisions(self) -> int:
        """How many parts a quarter is cut into, so that every length and every chord falls on a whole one."""
        needed = {change.at.denominator for measure in self.arrangement.measures for change in measure.chords}
        needed |= {measure.length.denominator for measure in self.arrangement.measures}
        needed |= {written.piece.length.denominator for measure in self.sung for written in measure}
        needed |= {each.piece.length.denominator for voices in self.struck for voice in voices for each in voice}
        return lcm(*needed)

    def _parts(self, length: Fraction) -> int:
        parts = length * self.divisions
        assert parts.denominator == 1
        return int(parts)

    def document(self) -> str:
        root = ET.Element("score-partwise", {"version": "4.0"})
        write_head(root, self.arrangement, sung=bool(self.sung))
        if self.sung:
            self._part(add(root, "part", id=TUNE_PART), tab=False)
        self._part(add(root, "part", id=BANJO_PART), tab=True)
        ET.indent(root, " ")
        return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"

    def _part(self, part: ET.Element, *, tab: bool) -> None:
        meter: Meter | None = None
        measures = self.arrangement.measures
        for index, measure in enumerate(measures):
            pickup = {"implicit": "yes"} if measure.number == 0 else {}
            element = add(part, "measure", number=str(measure.number), **pickup)
            leads = not (tab and self.sung)
            if index == 0 and leads:
                write_page_start(element, self.arrangement)
            if index == 0 or measure.meter != meter:
                self._attributes(element, measure.meter, first=index == 0, tab=tab)
            meter = measure.meter
            if index == 0 and leads:
                self._tempo_mark(element)
            chords = [(change.at, write_harmony(change.chord)) for change in measure.chords] if leads else []
            if tab:
                self._tablature(element, measure, self.struck[index], chords)
            else:
                self._tune(element, self.sung[index], chords)
            if index + 1 == len(measures):
                add(add(element, "barline", location="right"), "bar-style", "light-heavy")

    def _attributes(self, element: ET.Element, meter: Meter, *, first: bool, tab: bool) -> None:
        attributes = add(element, "attributes")
        if first:
            add(attributes, "divisions", self.divisions)
            key = add(attributes, "key")
            add(key, "fifths", self.fifths)
            add(key, "mode", read_key(self.arrangement.key).mode)
        time = add(attributes, "time", **({"symbol": "cut"} if (meter.count, meter.unit) == (2, 2) else {}))
        add(time, "beats", meter.count)
        add(time, "beat-type", meter.unit)
        if not first:
            return
        clef = add(attributes, "clef")
        add(clef, "sign", "TAB" if tab else "G")
        add(clef, "line", 5 if tab else 2)
        if tab:
            self._strings(attributes)
        else:
            add(clef, "clef-octave-change", "-1")
        if self.arrangement.capo:
            transpose = add(attributes, "transpose")
            if self.arrangement.sounding_key:
                steps = ord(self.arrangement.sounding_key[0]) - ord(self.arrangement.key[0])
                add(transpose, "diatonic", steps % 7)
            add(transpose, "chromatic", self.arrangement.capo)

    def _strings(self, attributes: ET.Element) -> None:
        details = add(attributes, "staff-details", show_frets="numbers")
        add(details, "staff-lines", len(STRINGS))
        for line, string in enumerate(reversed(STRINGS), 1):
            note = spelt(self.arrangement.tuning.open_pitch(string), 1)
            tuning = add(details, "staff-tuning", line=str(line))
            add(tuning, "tuning-step", note.letter.upper())
            if note.sign != "n":
                add(tuning, "tuning-alter", _ALTERS[note.sign])
            add(tuning, "tuning-octave", note.octave)
        if self.arrangement.capo:
            add(details, "capo", self.arrangement.capo)

    def _tempo_mark(self, element: ET.Element) -> None:
        direction = add(element, "direction", placement="above")
        mark = add(add(direction, "direction-type"), "metronome")
        add(mark, "beat-unit", "quarter")
        add(mark, "per-minute", f"{self.tempo:g}")
        add(direction, "sound", tempo=f"{self.tempo:g}")

    def _tune(self, element: ET.Element, notes: Sequence[Written[Sung]], chords: list[_Chord]) -> None:
        signs = Accidentals(self.fifths)
        for written in notes:
            self._chords_until(element, written.piece, chords)
            if written.piece.what is None:
                self._rest(element, written)
            else:
                self._sung_note(element, written, written.piece.what, signs)

    def _sung_note(self, element: ET.Element, written: Written[Sung], sung: Sung, signs: Accidentals) -> None:
        piece = written.piece
        spelling = spelt(sung.note.pitch - self.arrangement.capo, self.fifths)
        begins, ends = piece.first and not sung.tied_in, piece.last and not sung.tied_out
        note = add(element, "note", **({"id": sung.name} if begins else {}))
        ties = [kind for kind, there in (("stop", not begins), ("start", not ends)) if there]
        self._sound(note, spelling, piece, ties, voice=1)
        sign = signs.printed(spelling)
        _value(note, written, accidental=sign if begins else None)
        if not sung.note.kept:
            add(note, "notehead", "normal", parentheses="yes")
        _beamed(note, written)
        _put(note, _notations(written, ties))
        if begins and sung.note.lyric:
            self._word(note, sung.note.lyric)

    def _word(self, note: ET.Element, lyric: str) -> None:
        goes_on = lyric.endswith("-")
        place = ("middle" if self.in_word else "begin") if goes_on else ("end" if self.in_word else "single")
        self.in_word = goes_on
        verse = add(note, "lyric", number="1")
        add(verse, "syllabic", place)
        add(verse, "text", lyric[:-1] if goes_on else lyric)

    def _tablature(
        self, element: ET.Element, measure: ArrangedMeasure, voices: list[list[Written[Struck]]], chords: list[_Chord]
    ) -> None:
        for voice, notes in enumerate(voices, 1):
            if voice > 1:
                add(add(element, "backup"), "duration", self._parts(measure.length))
            for written in notes:
                self._chords_until(element, written.piece, chords)
                if written.piece.what is not None:
                    for count, pluck in enumerate(written.piece.what.plucks):
                        self._plucked_note(element, written, pluck, voice=voice, chord=count > 0)
                elif voice == 1:
                    self._rest(element, written)
                else:
                    forward = add(element, "forward")
                    add(forward, "duration", self._parts(written.piece.length))
                    add(forward, "voice", voice)

    def _plucked_note(
        self, element: ET.Element, written: Written[Struck], pluck: Pluck, *, voice: int, chord: bool
    ) -> None:
        piece = written.piece
        note = add(element, "note", **({"id": pluck.id} if piece.first else {}))
        if chord:
            add(note, "chord")
        ties = [kind for kind, there in (("stop", not piece.first), ("start", not piece.last)) if there]
        self._sound(note, spelt(pluck.pitch - self.arrangement.capo, self.fifths), piece, ties, voice=voice)
        _value(note, written)
        if piece.dur > 1:
            add(note, "stem", "down")
        if not chord:
            _beamed(note, written)
        notations = _notations(written, ties, chord=chord)
        note.append(notations)
        slurred = self.slurs.get(pluck.id, []) if piece.first else []
        for other, kind, number in slurred:
            if other.technique == "slide":
                add(notations, "slide", type=kind, number=str(number), line_type="solid")
            else:
                add(notations, "slur", type=kind, number=str(number))
        technical = add(notations, "technical")
        add(technical, "string", pluck.string)
        add(technical, "fret", pluck.fret)
        if not piece.first:
            return
        if pluck.finger:
            add(technical, "pluck", pluck.finger)
        if pluck.left:
            add(technical, "fingering", pluck.left)
        for other, kind, number in slurred:
            if other.technique in _LETTERS:
                letter = _LETTERS[other.technique] if kind == "start" else None
                add(technical, other.technique, letter, type=kind, number=str(number))

    def _chords_until(self, element: ET.Element, piece: Piece[T], chords: list[_Chord]) -> None:
        """Write the chords that come in before a piece ends, each with its distance from where the piece starts."""
        while chords and chords[0][0] < piece.at + piece.length:
            at, harmony = chords.pop(0)
            if at > piece.at:
                add(harmony, "offset", self._parts(at - piece.at))
            element.append(harmony)

    def _sound(self, note: ET.Element, spelling: Spelt, piece: Piece[T], ties: Sequence[str], *, voice: int) -> None:
        pitch = add(note, "pitch")
        add(pitch, "step", spelling.letter.upper())
        if spelling.sign != "n":
            add(pitch, "alter", _ALTERS[spelling.sign])
        add(pitch, "octave", spelling.octave)
        add(note, "duration", self._parts(piece.length))
        for kind in ties:
            add(note, "tie", type=kind)
        add(note, "voice", voice)

    def _rest(self, element: ET.Element, written: Written[T]) -> None:
        note = add(element, "note")
        add(note, "rest")
        add(note, "duration", self._parts(written.piece.length))
        add(note, "voice", 1)
        _value(note, written)
        _put(note, _notations(written, ()))


def _value(note: ET.Element, written: Written[T], *, accidental: str | None = None) -> None:
    add(note, "type", _TYPES[written.piece.dur])
    for _ in range(written.piece.dots):
        add(note, "dot")
    if accidental:
        add(note, "accidental", _ACCIDENTALS[accidental])
    if written.ratio:
        ratio = add(note, "time-modification")
        add(ratio, "actual-notes", written.ratio[0])
        add(ratio, "normal-notes", written.ratio[1])


def _beamed(note: ET.Element, written: Written[T]) -> None:
    for number, sign in enumerate(written.beams, 1):
        add(note, "beam", sign, number=str(number))


def _notations(written: Written[T], ties: Sequence[str], *, chord: bool = False) -> ET.Element:
    """The element for ties and tuplets; of the notes struck together only the first tells the tuplet."""
    notations = ET.Element("notations")
    for kind in ties:
        add(notations, "tied", type=kind)
    if written.opens and not chord:
        add(notations, "tuplet", type="start", number="1", bracket="yes")
    if written.closes and not chord:
        add(notations, "tuplet", type="stop", number="1")
    return notations


def _put(note: ET.Element, notations: ET.Element) -> None:
    if len(notations):
        note.append(notations)


def _numbered(arrangement: Arrangement) -> dict[str, list[tuple[Pluck, str, int]]]:
    """By the id of a pluck the slurs that end and begin at it: the slurred pluck, which end this is, and a number.

    A string has two numbers in turn, so that a chain of slurs never ends and begins with the same one.
    """
    found: dict[str, list[tuple[Pluck, str, int]]] = {}
    turn = dict.fromkeys(STRINGS, 0)
    before: dict[int, Pluck] = {}
    for _, pluck in arrangement.plucks():
        string = pluck.string
        if pluck.technique != "pick" and string in before:
            turn[string] ^= 1
            number = string + len(STRINGS) * turn[string]
            found.setdefault(pluck.id, []).append((pluck, "stop", number))
            found.setdefault(before[string].id, []).append((pluck, "start", number))
        before[string] = pluck
    return found
