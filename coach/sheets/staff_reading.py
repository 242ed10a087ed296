"""Staves of a MusicXML score as plain records: notes, chords, and what is told of measures and strings.

References:
    MusicXML 4.0, W3C Community Group Final Report. Staves are numbered from the top of their part; line 1 of a staff
    is its lowest; positions run on by durations, ``<backup>`` and ``<forward>``; a ``<chord>`` note stands with the
    one before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree import ElementTree as ET

from coach.errors import TuneError
from coach.sheets.harmony_xml import read_harmony
from coach.tunes.chords import Chord
from coach.tunes.keys import NAMES_OF_NATURALS
from coach.tunes.tune import Meter

__all__ = ["SLURS", "Bar", "PartCopier", "Staff", "StaffNote", "small_number"]

# The ways of slurring, by the element that tells them; "slur" alone leaves open which.
SLURS = {"hammer-on": "hammer-on", "pull-off": "pull-off", "slide": "slide", "glissando": "slide", "slur": "slur"}

MOST_LENGTH = 64  # quarters in a measure

_NUMBER = re.compile(r"([+-]?\d{1,7})(?:\.(\d{1,6}))?")


@dataclass(frozen=True, slots=True)
class StaffNote:
    """A note on a staff.

    Attributes:
        at, length: in quarters, from the start of its measure; a grace note has length 0.
        pitch: MIDI note number as written; None where there is none.
        string, fret: as written; None where missing.
        finger, left: of the right and the left hand, as written; empty where missing.
        begins, ends: the slurs (values of :data:`SLURS`) that begin and end here.
        tied_in: whether it only goes on from a note before.
        lyric: its syllable, with a trailing hyphen when the word goes on.
        kept: whether its head has no parentheses.
        grace: whether it is a grace note.
    """

    at: Fraction
    length: Fraction
    pitch: int | None
    string: int | None
    fret: int | None
    finger: str
    left: str
    begins: frozenset[str]
    ends: frozenset[str]
    tied_in: bool
    lyric: str | None
    kept: bool
    grace: bool


@dataclass(slots=True)
class Bar:
    """A measure on paper: what it holds for all staves.

    Attributes:
        label: its number as printed, for sentences.
        meter: in force.
        length: the longest that any part writes, in quarters.
        repeat_start, repeat_end, endings, double_bar: as in :class:`coach.tunes.tune.Measure`.
    """

    label: str
    meter: Meter
    length: Fraction = Fraction(0)
    repeat_start: bool = False
    repeat_end: int = 1
    endings: tuple[int, ...] = ()
    double_bar: bool = False


@dataclass(slots=True)
class Staff:
    """One staff of a part.

    Attributes:
        part: its place among the parts.
        number: its number in the part, from 1.
        notes, chords: by measure; chords are those of the whole part.
        tab: whether it has a TAB clef.
        lines: told by the file; None where it does not.
        tuning: MIDI note number by line, line 1 the lowest; empty where not told.
        capo: its fret.
        transpose: semitones from written to sounding.
        fifths, mode: the first key signature; mode is empty where not told.
        left_out: what was passed over, by name.
    """

    part: int
    number: int
    notes: list[list[StaffNote]] = field(default_factory=list)
    chords: list[list[tuple[Fraction, Chord]]] = field(default_factory=list)
    tab: bool = False
    lines: int | None = None
    tuning: dict[int, int] = field(default_factory=dict)
    capo: int = 0
    transpose: int = 0
    fifths: int = 0
    mode: str = ""
    left_out: set[str] = field(default_factory=set)

    def every(self) -> Iterator[tuple[int, StaffNote]]:
        """Every note, with the place of its measure."""
        for index, notes in enumerate(self.notes):
            for note in notes:
                yield index, note


def small_number(text: str) -> int:
    """A number of one or two digits, 0 where it is none."""
    text = text.strip()
    return int(text) if text.isdecimal() and len(text) < 3 else 0


class PartCopier:
    """Copies one part.

    Args:
        place: of the part among the parts.
        bars: the measures, shared by all parts; those that are not there yet are added.
        where: the name of the file, for the errors.
    """

    def __init__(self, place: int, bars: list[Bar], where: str) -> None:
        self.place = place
        self.bars = bars
        self.where = where
        self.here = where
        self.divisions = Fraction(1)
        self.meter: Meter | None = None
        self.staves: dict[int, Staff] = {}
        self.endings: tuple[int, ...] = ()

    def copy(self, part: ET.Element) -> list[Staff]:
        """The staves of the part, in order.

        Raises:
            TuneError: when a value cannot be read; the sentence names the measure.
        """
        for index, measure in enumerate(part.findall("measure")):
            label = measure.get("number", str(index + 1))[:12]
            self.here = f"{self.where}, measure {label}"
            self._measure(index, label, measure)
        return [self.staves[number] for number in sorted(self.staves)]

    def _staff(self, number: int) -> Staff:
        return self.staves.setdefault(number, Staff(self.place, number))

    def _row(self, staff: Staff, index: int) -> list[StaffNote]:
        while len(staff.notes) <= index:
            staff.notes.append([])
            staff.chords.append([])
        return staff.notes[index]

    def _measure(self, index: int, label: str, measure: ET.Element) -> None:
        at = last = end = Fraction(0)
        chords: list[tuple[Fraction, Chord]] = []
        signs: list[ET.Element] = []
        for element in measure:
            if element.tag == "attributes":
                self._attributes(element)
            elif element.tag == "note":
                length = self._duration(element) if element.find("grace") is None else Fraction(0)
                start = last if element.find("chord") is not None else at
                self._note(index, element, start, length)
                if element.find("chord") is None:
                    last, at = at, at + length
            elif element.tag == "backup":
                at = max(Fraction(0), at - self._duration(element))
            elif element.tag == "forward":
                at += self._duration(element)
            elif element.tag == "harmony":
                offset = self._number(element.findtext("offset") or "0", "an offset") / self.divisions
                chord = read_harmony(element, where=self.here)
                if chord is not None:
                    chords.append((max(Fraction(0), at + offset), chord))
            elif element.tag == "barline":
                signs.append(element)
            end = max(end, at)
        if self.meter is None:
            raise TuneError("the score has no metre", where=self.here, cure="give it a time signature, such as 4/4")
        if index == len(self.bars):
            self.bars.append(Bar(label, self.meter))
        bar = self.bars[index]
        bar.length = max(bar.length, end)
        if bar.length > MOST_LENGTH:
            raise TuneError(f"it lasts more than {MOST_LENGTH} quarters", where=self.here, cure="put barlines into it")
        for sign in signs:
            self._barline(bar, sign)
        bar.endings = bar.endings or self.endings
        if any(ending.get("type") in {"stop", "discontinue"} for sign in signs for ending in sign.findall("ending")):
            self.endings = ()
        for staff in self.staves.values():
            self._row(staff, index)
            staff.chords[index] = sorted(chords, key=lambda change: change[0])

    def _barline(self, bar: Bar, sign: ET.Element) -> None:
        repeat, ending = sign.find("repeat"), sign.find("ending")
        if repeat is not None and repeat.get("direction") == "forward":
            bar.repeat_start = True
        elif repeat is not None:
            bar.repeat_end = min(max(2, small_number(repeat.get("times", "2"))), 9)
        if ending is not None and ending.get("type") == "start":
            self.endings = tuple(int(time) for time in re.findall(r"\d{1,2}", ending.get("number", "")))
        style = (sign.findtext("bar-style") or "").strip()
        bar.double_bar |= sign.get("location", "right") == "right" and style in {"light-light", "light-heavy"}

    def _attributes(self, attributes: ET.Element) -> None:
        if (divisions := attributes.findtext("divisions")) is not None:
            self.divisions = self._number(divisions, "the divisions")
            if self.divisions <= 0:
                raise TuneError("the divisions are not above 0", where=self.here, cure="save the score again")
        for time in attributes.findall("time"):
            if time.find("senza-misura") is None:
                self.meter = self._time(time)
        for number in sorted({1, *(small_number(each.get("number", "1")) or 1 for each in attributes)}):
            self._staff_attributes(self._staff(number), attributes)

    def _staff_attributes(self, staff: Staff, attributes: ET.Element) -> None:
        def mine(tag: str, otherwise: int) -> Iterator[ET.Element]:
            """The elements for this staff; one without a number is for staff ``otherwise``."""
            every = attributes.findall(tag)
            return (each for each in every if (small_number(each.get("number", "")) or otherwise) == staff.number)

        for clef in mine("clef", 1):
            staff.tab |= (clef.findtext("sign") or "").strip() == "TAB"
        for key in mine("key", staff.number):
            if not staff.notes and key.find("fifths") is not None:
                staff.fifths = int(self._number(key.findtext("fifths") or "", "the key"))
                staff.mode = (key.findtext("mode") or "").strip()
        for transpose in mine("transpose", staff.number):
            octaves = self._number(transpose.findtext("octave-change") or "0", "the transposition")
            steps = self._number(transpose.findtext("chromatic") or "0", "the transposition")
            staff.transpose = int(steps + 12 * octaves)
        for details in mine("staff-details", 1):
            if (lines := details.findtext("staff-lines")) is not None:
                staff.lines = int(self._number(lines, "the number of lines"))
            for tuning in details.findall("staff-tuning"):
                line = int(self._number(tuning.get("line", ""), "the line of a string"))
                staff.tuning[line] = self._pitch(tuning, "tuning-")
            if (capo := details.findtext("capo")) is not None:
                staff.capo = int(self._number(capo, "the capo"))

    def _time(self, time: ET.Element) -> Meter:
        beats, unit = (time.findtext("beats") or "").strip(), (time.findtext("beat-type") or "").strip()
        count = sum(map(small_number, beats.split("+")))
        if not 0 < count < 100 or unit not in {"1", "2", "4", "8", "16", "32"}:
            raise TuneError(f"{beats[:8]}/{unit[:8]} is no metre", where=self.here, cure="write it like 4/4 or 6/8")
        return Meter(count, int(unit))

    def _note(self, index: int, note: ET.Element, at: Fraction, length: Fraction) -> None:
        staff = self._staff(small_number(note.findtext("staff") or "1") or 1)
        row = self._row(staff, index)
        if note.find("rest") is not None:
            return
        if note.find("cue") is not None or note.find("unpitched") is not None:
            staff.left_out.add("cues")
            return
        head = note.find("notehead")
        if head is not None and (head.text or "").strip() == "x":
            staff.left_out.add("muted")
            return
        technical = {
            each.tag: each for each in note.iterfind("notations/technical/*") if each.tag in {"string", "fret", "pluck"}
        }
        pitch = note.find("pitch")
        lyric = note.find("lyric")
        row.append(
            StaffNote(
                at=at,
                length=length,
                pitch=None if pitch is None else self._pitch(pitch, ""),
                string=self._whole(technical.get("string"), "a string"),
                fret=self._whole(technical.get("fret"), "a fret"),
                finger=_stripped(technical.get("pluck")),
                left=_stripped(note.find("notations/technical/fingering")),
                begins=frozenset(_slur_ends(note, "start")),
                ends=frozenset(_slur_ends(note, "stop")),
                tied_in=any(tie.get("type") == "stop" for tie in note.findall("tie")),
                lyric=None if lyric is None else _word(lyric),
                kept=head is None or head.get("parentheses") != "yes",
                grace=note.find("grace") is not None,
            )
        )

    def _duration(self, element: ET.Element) -> Fraction:
        length = self._number(element.findtext("duration") or "0", "a duration") / self.divisions
        if length < 0:
            raise TuneError("a duration is below 0", where=self.here, cure="save the score again")
        return length

    def _pitch(self, element: ET.Element, prefix: str) -> int:
        step = (element.findtext(f"{prefix}step") or "").strip()
        if step not in NAMES_OF_NATURALS:
            raise TuneError(f"{step[:8]!r} is no note", where=self.here, cure="write a step of A to G")
        alter = self._number(element.findtext(f"{prefix}alter") or "0", "an alteration")
        octave = self._number(element.findtext(f"{prefix}octave") or "", "an octave")
        pitch = NAMES_OF_NATURALS[step] + round(alter) + 12 * (int(octave) + 1)
        if not 0 <= pitch <= 127:
            raise TuneError(f"a pitch of octave {octave} cannot sound", where=self.here, cure="correct its octave")
        return pitch

    def _whole(self, element: ET.Element | None, name: str) -> int | None:
        return None if element is None else int(self._number(element.text or "", name))

    def _number(self, text: str, name: str) -> Fraction:
        match = _NUMBER.fullmatch(text.strip())
        if match is None:
            raise TuneError(f"{text.strip()[:12]!r} is no number for {name}", where=self.here, cure="correct it")
        return Fraction(text.strip())


def _stripped(element: ET.Element | None) -> str:
    return "" if element is None else (element.text or "").strip()


def _slur_ends(note: ET.Element, kind: str) -> Iterator[str]:
    for notations in note.findall("notations"):
        for element in (*notations, *notations.iterfind("technical/*")):
            if element.tag in SLURS and element.get("type") == kind:
                yield SLURS[element.tag]


def _word(lyric: ET.Element) -> str | None:
    text = "".join((each.text or "") for each in lyric.findall("text")).strip()
    goes_on = (lyric.findtext("syllabic") or "").strip() in {"begin", "middle"}
    return f"{text}-" if text and goes_on else text or None
