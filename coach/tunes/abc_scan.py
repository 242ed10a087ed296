"""Cutting the music of an ABC tune into events.

music21 reads pitch and length of the notes, but drops or ignores what stands around them: words, line ends, ties over a
change of key, repeats without a sign to begin them, fields in brackets. So the music is cut up here, and plain notes,
rests and bars alone are handed on, in a form in which music21 applies the rules of the standard.

References:
    The ABC music standard 2.1, December 2011, chapters 4 and 5 (rules from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from coach.errors import TuneError
from coach.tunes.abc_events import (
    Bar,
    Ending,
    Event,
    Grace,
    KeyChange,
    LineEnd,
    MeterChange,
    RestMeasures,
    Sound,
    Symbol,
)
from coach.tunes.abc_fields import FIELD, read_key, read_meter, read_unit, signature
from coach.tunes.abc_words import align
from coach.tunes.tune import Meter

__all__ = ["scan"]

_NOTE = r"(?P<sign>\^\^|\^|__|_|=)?(?P<letter>[A-Ga-g])(?P<octave>[,']*)(?P<length>\d{0,3}/*\d{0,3})"
_TOKEN = re.compile(
    rf"""
    (?P<text>"[^"]*"?)
  | (?P<decoration>![^!\s|]{{1,30}}!|\+[a-z][a-z().]{{0,20}}\+)
  | (?P<grace>\{{[^}}]*\}}?)
  | (?P<field>\[[A-Za-z]:[^\]]{{0,80}}\])
  | (?P<ending>\[\s*(?=\d)(?P<times>\d{{1,2}}(?:[,-]\d{{1,2}})*)\.?)
  | (?P<bar>(?P<closing>:*)(?:\[\|\]?|\|[|\]]*)(?P<opening>:*)(?P<bar_times>\d{{1,2}}(?:[,-]\d{{1,2}})*)?|:{{2,}}\d?)
  | \[(?P<chord>[^\]|:"]{{0,40}})\](?P<chord_length>\d{{0,3}}/*\d{{0,3}})
  | \((?P<p>\d{{1,2}})(?::(?P<q>\d{{0,2}}))?(?::(?P<r>\d{{0,2}}))?
  | (?P<note>{_NOTE})
  | (?P<rest>[zx])(?P<rest_length>\d{{0,3}}/*\d{{0,3}})
  | [ZX](?P<measures>\d{{0,3}})
  | (?P<broken><{{1,3}}|>{{1,3}})
  | (?P<tie>-)
  | (?P<overlay>&)
  | (?P<ornament>[~TMP](?=[\[~.HLMOPSTuv^=_A-Ga-g"!(]))
    """,
    re.VERBOSE,
)
_LONGEST_LENGTH = 9  # letters: 4095/4096 is the longest that makes sense
_MOST_EVENTS = 30_000
_MOST_VERSES = 30
_CHORD_NOTE = re.compile(_NOTE)
_ORNAMENTS = ("trill", "turn", "mordent", "roll", "slide", "arpeggio", "pralltriller")
_DIRECTIONS = ("d.c.", "d.s.", "fine", "segno", "coda", "dacapo", "dacoda")


@dataclass(slots=True)
class _Scanner:
    where: str
    meter: Meter
    unit: Fraction
    signs: dict[str, str]
    events: list[Event] = field(default_factory=list)
    plain: list[str] = field(default_factory=list)
    found: set[str] = field(default_factory=set)
    line: int = 0
    bars: int = 0
    voice: str | None = None
    skipping: bool = False
    overlaid: bool = False
    tuplet: tuple[Fraction, int] = (Fraction(1), 0)
    broken: Fraction = Fraction(1)
    filled: Fraction = Fraction(0)
    marked: set[str] = field(default_factory=set)
    sung: list[Sound] = field(default_factory=list)
    verses: list[str] = field(default_factory=list)
    open_line: bool = False

    def place(self) -> str:
        return f"{self.where}, line {self.line}"

    def read(self, lines: Iterable[tuple[int, str]]) -> None:
        for self.line, line in lines:
            match = FIELD.match(line)
            if match:
                self.take_field(match[1], match[2].strip(), inline=False)
            elif line.strip():
                self.take_music(line)
        self.finish_words()

    def take_field(self, letter: str, value: str, *, inline: bool) -> None:
        if letter == "V":
            name = value.split(maxsplit=1)[0] if value else ""
            self.voice = name if self.voice is None else self.voice
            if self.skipping and name == self.voice:
                self.finish_words()
            self.skipping = name != self.voice
            if self.skipping:
                self.found.add("voices")
        elif self.skipping:
            return
        elif letter == "w" and not inline:
            if len(self.verses) < _MOST_VERSES:
                self.verses.append(value)
        elif letter == "+" and self.verses:
            self.verses[-1] += f" {value}"
        elif letter == "M":
            self.meter = read_meter(value, where=self.place())
            self.events.append(MeterChange(self.meter))
        elif letter == "K":
            key, self.signs = read_key(value, where=self.place())
            if key is not None:
                self.plain.append(f"\nK:{signature(key, where=self.place())}\n")
                self.events.append(KeyChange(key))
        elif letter == "L":
            self.unit = read_unit(value, where=self.place())
            self.plain.append(f"\nL:{self.unit.numerator}/{self.unit.denominator}\n")

    def take_music(self, line: str) -> None:
        goes_on = line.rstrip().endswith("\\")
        if not self.skipping and not self.open_line:
            self.finish_words()
        for match in _TOKEN.finditer(line):
            if match["field"]:
                self.take_field(match["field"][1], match["field"][3:-1].strip(), inline=True)
            elif not self.skipping:
                self.take_token(match)
        if not self.skipping:
            self.open_line = goes_on
            if not goes_on:
                # Many old collections leave out the bar where a line ends with a full measure.
                if self.filled >= self.meter.length:
                    self.end_measure(Bar(ends=1, starts=False, double=False))
                self.events.append(LineEnd())

    def finish_words(self) -> None:
        bars = [sound.bar for sound in self.sung]
        for verse in self.verses:
            for sound, syllable in zip(self.sung, align(verse, bars), strict=True):
                sound.words.append(syllable)
        self.sung, self.verses = [], []

    def take_token(self, match: re.Match[str]) -> None:
        if len(self.events) > _MOST_EVENTS:
            raise TuneError("the tune is far too long", where=self.place(), cure="give a part of it")
        if match["bar"] is not None:
            self.take_bar(match)
        elif match["overlay"]:
            self.overlaid = True
            self.found.add("voices")
        elif self.overlaid:
            return
        elif match["note"]:
            self.take_note(match, _length(match["length"], self.place()))
        elif match["chord"] is not None:
            self.take_chord(match["chord"], match["chord_length"])
        elif match["rest"]:
            self.add("z", "", _length(match["rest_length"], self.place()))
        elif match["text"]:
            self.events.append(Symbol(match["text"].strip('"'), self.line))
        elif match["tie"]:
            if self.events and isinstance(self.events[-1], Sound):
                self.events[-1].tied = True
        elif match["grace"]:
            self.take_grace(match["grace"])
        elif match["decoration"] or match["ornament"]:
            self.take_decoration(match["decoration"] or "!trill!")
        elif match["ending"]:
            self.events.append(Ending(_times(match["times"])))
        elif match["p"]:
            self.take_tuplet(int(match["p"]), match["q"], match["r"])
        elif match["measures"] is not None:
            self.events.append(RestMeasures(int(match["measures"] or 1)))
        elif match["broken"]:
            self.take_broken(match["broken"])

    def take_decoration(self, sign: str) -> None:
        name = sign[1:-1].lower()
        if any(word in name for word in _ORNAMENTS):
            self.found.add("ornaments")
        elif any(word in name for word in _DIRECTIONS):
            self.found.add("directions")

    def take_grace(self, group: str) -> None:
        self.found.add("graces")
        notes = list(_CHORD_NOTE.finditer(group))
        if notes:
            self.plain.append(f"{self.signed(notes[-1])}1")
            self.events.append(Grace())

    def take_broken(self, sign: str) -> None:
        before = next((event for event in reversed(self.events) if isinstance(event, Sound)), None)
        if before is not None:
            short = Fraction(1, 2 ** len(sign))
            first, self.broken = (2 - short, short) if sign[0] == ">" else (short, 2 - short)
            before.ratio *= first

    def take_bar(self, match: re.Match[str]) -> None:
        sign = match["bar"]
        both = sign.startswith("::") and match["closing"] is None
        closing, opening = (1, 1) if both else (len(match["closing"]), len(match["opening"]))
        self.end_measure(
            Bar(ends=min(closing, 8) + 1, starts=opening > 0, double="||" in sign or "]" in sign or "[" in sign)
        )
        times = match["bar_times"] or (sign.lstrip(":") if both else "")
        if times:
            self.events.append(Ending(_times(times)))

    def end_measure(self, bar: Bar) -> None:
        self.overlaid = False
        self.bars += 1
        self.marked = set()
        self.filled = Fraction(0)
        self.plain.append("|")
        self.events.append(bar)

    def take_tuplet(self, p: int, q: str | None, r: str | None) -> None:
        usual = 3 if self.meter.compound else 2
        time_of = {2: 3, 3: 2, 4: 3, 5: usual, 6: 2, 7: usual, 8: 3, 9: usual}
        notes = int(q) if q else time_of.get(p, 0)
        if not p or not notes:
            raise TuneError(
                f"a tuplet ({p} does not say in the time of how many notes it is",
                where=self.place(),
                cure="write (p:q:r",
            )
        self.tuplet = (Fraction(notes, p), int(r) if r else p)

    def take_note(self, match: re.Match[str], length: Fraction) -> None:
        self.add(self.signed(match), match["letter"] + match["octave"], length)

    def signed(self, match: re.Match[str]) -> str:
        """A note with the accidental that music21 has to be told."""
        sign, name = match["sign"] or "", match["letter"] + match["octave"]
        # Accidentals that the key names one by one are unknown to music21: they are written out once a measure.
        if sign:
            self.marked.add(name)
        elif name not in self.marked and match["letter"].upper() in self.signs:
            sign = self.signs[match["letter"].upper()]
            self.marked.add(name)
        return sign + name

    def take_chord(self, inner: str, outer: str) -> None:
        notes = list(_CHORD_NOTE.finditer(inner))
        if not notes:
            return
        if len(notes) > 1:
            self.found.add("double notes")
        length = _length(notes[0]["length"], self.place()) * _length(outer, self.place())
        self.take_note(max(notes, key=_height), length)

    def add(self, plain: str, name: str, units: Fraction) -> None:
        self.plain.append(f"{plain}{units}")
        sound = Sound(self.line, self.bars, name, self.broken)
        self.broken = Fraction(1)
        ratio, left = self.tuplet
        if left:
            sound.ratio *= ratio
            self.tuplet = (ratio, left - 1)
        self.filled += 4 * self.unit * units * sound.ratio
        self.events.append(sound)
        if name:
            self.sung.append(sound)


def scan(
    lines: Iterable[tuple[int, str]],
    *,
    where: str,
    meter: Meter,
    unit: Fraction,
    signs: dict[str, str],
    voice: str | None,
) -> tuple[list[Event], str, set[str]]:
    """Cut the music of one tune into events.

    Args:
        lines: what follows the header, each with its number in the file, comments taken off.
        where: the name of the file, for errors.
        meter: in force at the start.
        unit: the unit length in force at the start, as a fraction of a whole note.
        signs: accidentals that the key names one by one, by letter.
        voice: the voice to keep; None for the first.

    Returns:
        The events; the notes, rests and bars alone as text for music21, one note or rest for each :class:`Sound` and
        :class:`Grace`; and what was passed over: a subset of ``graces``, ``ornaments``, ``directions``,
        ``double notes``, ``voices``.

    Raises:
        TuneError: at a metre, key, unit length or tuplet that cannot be read.
    """
    scanner = _Scanner(where, meter, unit, signs, voice=voice)
    scanner.read(lines)
    return scanner.events, " ".join(scanner.plain), scanner.found


def _times(text: str) -> tuple[int, ...]:
    times: set[int] = set()
    for part in text.split(","):
        first, _, last = part.partition("-")
        times.update(range(int(first), int(last or first) + 1))
    return tuple(sorted(times))


def _height(match: re.Match[str]) -> int:
    letter, octave = match["letter"], match["octave"]
    return "CDEFGAB".index(letter.upper()) + 7 * (letter.islower() + octave.count("'") - octave.count(","))


def _length(text: str, where: str) -> Fraction:
    if len(text) > _LONGEST_LENGTH:
        raise TuneError(f"a note cannot have the length {text[:20]!r} …", where=where, cure="write A2, A/2 or A3/2")
    top, slash, bottom = text.partition("/")
    halves = bottom.count("/") + 1 if slash else 0
    number = bottom.strip("/")
    divisor = int(number) if number else 2**halves
    if divisor == 0 or (top and not int(top)):
        raise TuneError(f"a note cannot have the length {text!r}", where=where, cure="write A2, A/2 or A3/2")
    return Fraction(int(top or 1), divisor)
