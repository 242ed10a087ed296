"""A solo as MEI 5: the tune on a staff with its words and chords, the tablature under it.

The melody is written as the player thinks it: in the key of the shape, an octave above sound (treble clef with an 8
below). Repeats are written out. Identities: a measure is ``m<number>``, a pluck has its own id on its note in the
tablature, a note of the tune is ``m<number>n<k>``, the fingers under a place ``m<number>r<k>``, a chord
``m<number>c<k>``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TypeVar
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, MelodyNote, Pluck
from coach.instrument.fretboard import STRINGS
from coach.sheets.heading import further_remarks, heading_lines, read_key
from coach.sheets.notation import Piece, Tuplet, beams, pieces
from coach.sheets.spelling import Accidentals, spelt
from coach.sheets.text import SLUR_LETTERS
from coach.tunes.tune import Meter

T = TypeVar("T")

__all__ = ["fingers_of", "slurs", "systems", "to_mei"]

_ROW_SIZE = "45%"  # of the fingers under the tablature
_CHORD_SIZE = "57%"  # of a chord over a tablature that stands alone
_LETTER_SIZE = "55%"  # of the letters over slurs


def to_mei(arrangement: Arrangement, *, measures_per_system: int = 4) -> str:
    """Write a solo as MEI.

    Args:
        arrangement: the solo; without a melody only the tablature is written.
        measures_per_system: >= 1 (see :func:`systems`).

    Returns:
        The document as text, to be stored as UTF-8.

    Raises:
        InputError: when a length cannot be written in notes.
    """
    return _Writer(arrangement, measures_per_system).document()


def systems(arrangement: Arrangement, measures_per_system: int) -> list[tuple[ArrangedMeasure, ...]]:
    """The measures dealt to systems; a pickup is not counted where a system has room for four measures and more."""
    roomy = measures_per_system >= 4
    dealt: list[list[ArrangedMeasure]] = [[]]
    for measure in arrangement.measures:
        if sum(other.number > 0 or not roomy for other in dealt[-1]) == measures_per_system:
            dealt.append([])
        dealt[-1].append(measure)
    return [tuple(system) for system in dealt]


def slurs(arrangement: Arrangement) -> Iterator[tuple[Pluck, Pluck]]:
    """Each slurred pluck behind the pluck of its string that it comes from."""
    before: dict[int, Pluck] = {}
    for _, pluck in arrangement.plucks():
        if pluck.technique != "pick" and pluck.string in before:
            yield before[pluck.string], pluck
        before[pluck.string] = pluck


def fingers_of(plucks: Sequence[Pluck]) -> list[str]:
    """The fingers of one place, from string 1 down to string 5, as they stand below one another."""
    return [pluck.finger for pluck in sorted(plucks, key=lambda pluck: pluck.string) if pluck.finger]


def _add(parent: ET.Element, tag: str, attributes: dict[str, str] | None = None, text: str | None = None) -> ET.Element:
    element = ET.SubElement(parent, tag, attributes or {})
    element.text = text
    return element


def _places(plucks: Sequence[Pluck]) -> list[tuple[Fraction, Fraction, tuple[Pluck, ...]]]:
    """The plucks of a measure by position: where, how long, which."""
    at: dict[Fraction, list[Pluck]] = {}
    for pluck in plucks:
        at.setdefault(pluck.at, []).append(pluck)
    return [(where, min(pluck.length for pluck in here), tuple(here)) for where, here in sorted(at.items())]


class _Writer:
    """Builds one document."""

    def __init__(self, arrangement: Arrangement, measures_per_system: int) -> None:
        self.arrangement = arrangement
        self.per_system = measures_per_system
        self.fifths = read_key(arrangement.key).fifths
        self.sung = any(measure.melody for measure in arrangement.measures)
        self.tab_staff = "2" if self.sung else "1"
        self.slurs: dict[str, list[tuple[Pluck, Pluck]]] = {}
        for start, end in slurs(arrangement):
            self.slurs.setdefault(start.id, []).append((start, end))
        # A note of the tune that reaches over the barline: what is left of it, and the note.
        self.carried: tuple[Fraction, MelodyNote] | None = None
        self.in_word = False

    def document(self) -> str:
        root = ET.Element("mei", {"xmlns": "http://www.music-encoding.org/ns/mei", "meiversion": "5.0"})
        self._head(root)
        score = root
        for tag in ("music", "body", "mdiv", "score"):
            score = _add(score, tag)
        measures = self.arrangement.measures
        self._definitions(_add(score, "scoreDef"), measures[0].meter)
        section = _add(score, "section")
        meter = measures[0].meter
        breaks = {system[0].number for system in systems(self.arrangement, self.per_system)[1:]}
        for index, measure in enumerate(measures):
            if measure.number in breaks:
                _add(section, "sb")
            if measure.meter != meter:
                meter = measure.meter
                self._meter_change(section, meter)
            following = measures[index + 1] if index + 1 < len(measures) else None
            self._measure(section, measure, following)
        return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"

    def _head(self, root: ET.Element) -> None:
        description = _add(_add(root, "meiHead"), "fileDesc")
        titles = _add(description, "titleStmt")
        _add(titles, "title", {"type": "main"}, self.arrangement.title)
        _add(titles, "title", {"type": "subordinate"}, heading_lines(self.arrangement)[0])
        publication = _add(description, "pubStmt")
        if self.arrangement.rights:
            _add(_add(publication, "availability"), "useRestrict", {}, self.arrangement.rights)
        notes = _add(description, "notesStmt")
        for line in (*heading_lines(self.arrangement)[1:], *further_remarks(self.arrangement)):
            _add(notes, "annot", {}, line)

    def _definitions(self, score: ET.Element, meter: Meter) -> None:
        group = _add(score, "staffGrp", {"symbol": "bracket", "bar.thru": "false"})
        if self.sung:
            staff = _add(group, "staffDef", {"n": "1", "lines": "5"})
            _add(staff, "clef", {"shape": "G", "line": "2", "dis": "8", "dis.place": "below"})
            signs = "0" if self.fifths == 0 else f"{abs(self.fifths)}{'s' if self.fifths > 0 else 'f'}"
            _add(staff, "keySig", {"sig": signs})
            _add(staff, "meterSig", _signature(meter))
        tab = _add(group, "staffDef", {"n": self.tab_staff, "lines": "5", "notationtype": "tab.guitar"})
        _add(tab, "clef", {"shape": "TAB", "line": "3"})
        tuning = _add(tab, "tuning")
        for string in STRINGS:
            note = spelt(self.arrangement.tuning.open_pitch(string), 1)
            course = {"n": str(string), "pname": note.letter, "oct": str(note.octave)}
            _add(tuning, "course", course if note.sign == "n" else {**course, "accid": note.sign})
        _add(tab, "meterSig", _signature(meter) | ({"visible": "false"} if self.sung else {}))

    def _meter_change(self, section: ET.Element, meter: Meter) -> None:
        group = _add(_add(section, "scoreDef"), "staffGrp")
        if self.sung:
            _add(_add(group, "staffDef", {"n": "1"}), "meterSig", _signature(meter))
        tab = _signature(meter) | ({"visible": "false"} if self.sung else {})
        _add(_add(group, "staffDef", {"n": self.tab_staff}), "meterSig", tab)

    def _measure(self, section: ET.Element, measure: ArrangedMeasure, following: ArrangedMeasure | None) -> None:
        attributes = {"xml:id": f"m{measure.number}"}
        if measure.number > 0:
            attributes["n"] = str(measure.number)
        if measure.length != measure.meter.length:
            attributes["metcon"] = "false"
        if following is None:
            attributes["right"] = "end"
        element = _add(section, "measure", attributes)
        if self.sung:
            self._melody(element, measure)
        places = _places(measure.plucks)
        self._tablature(element, measure, places)
        for index, chord in enumerate(measure.chords, 1):
            beat = float(chord.at * measure.meter.unit / 4 + 1)
            where = {"xml:id": f"m{measure.number}c{index}", "staff": "1", "tstamp": f"{beat:g}", "place": "above"}
            symbol = chord.chord.symbol.replace("#", "♯").replace("b", "♭")
            if self.sung:
                _add(element, "harm", where, symbol)
            else:
                # Two kinds of harm on one staff would push each other aside: over a tablature a chord is a direction.
                style = {"fontsize": _CHORD_SIZE, "fontstyle": "normal"}
                _add(_add(element, "dir", where | {"type": "chord"}), "rend", style, symbol)
        for index, (_, _, plucks) in enumerate(places, 1):
            self._fingers(element, f"m{measure.number}r{index}", plucks)
        for pluck in measure.plucks:
            for start, end in self.slurs.get(pluck.id, ()):
                self._slur(element, start, end)

    def _melody(self, element: ET.Element, measure: ArrangedMeasure) -> None:
        events = self._sung_events(measure)
        layer = _add(_add(element, "staff", {"n": "1"}), "layer", {"n": "1"})
        if not events:
            _add(layer, "mRest")
            return
        written = pieces(events, measure.meter, measure.length, pickup=measure.number == 0)
        numbers = {id(note): number for number, note in enumerate(measure.melody, 1)}
        counts: dict[int, int] = {}
        signs = Accidentals(self.fifths)
        window = measure.meter.beat if measure.meter.compound else max(measure.meter.beat, Fraction(1))
        for parent, piece in _grouped(layer, beams(written, window, _missing(measure))):
            value = _value(piece)
            if piece.what is None:
                _add(parent, "rest", value)
                continue
            note, tied_in, tied_out = piece.what
            spelling = spelt(note.pitch - self.arrangement.capo, self.fifths)
            attributes = value | {"pname": spelling.letter, "oct": str(spelling.octave)}
            begins, ends = piece.first and not tied_in, piece.last and not tied_out
            number = numbers.get(id(note), 0)
            counts[number] = counts.get(number, 0) + 1
            attributes["xml:id"] = f"m{measure.number}n{number}" + (f"t{counts[number]}" if counts[number] > 1 else "")
            sign = signs.printed(spelling)
            if begins and sign:
                attributes["accid"] = sign
            elif spelling.sign != "n":
                attributes["accid.ges"] = spelling.sign
            if not (begins and ends):
                attributes["tie"] = "i" if begins else "t" if ends else "m"
            written_note = _add(parent, "note", attributes)
            if begins and note.lyric:
                self._word(written_note, note)

    def _sung_events(self, measure: ArrangedMeasure) -> list[tuple[Fraction, Fraction, tuple[MelodyNote, bool, bool]]]:
        """The notes of the tune that sound in a measure: where, how long, and whether tied from before or onwards."""
        sounding: list[tuple[Fraction, Fraction, MelodyNote, bool]] = []
        if self.carried is not None:
            left, note = self.carried
            sounding.append((Fraction(0), left, note, True))
        sounding += [(note.at, note.length, note, False) for note in measure.melody]
        self.carried = None
        events = []
        for index, (at, length, note, tied_in) in enumerate(sounding):
            end = sounding[index + 1][0] if index + 1 < len(sounding) else measure.length
            if index + 1 == len(sounding) and at + length > measure.length:
                self.carried = (at + length - measure.length, note)
            if end > at:
                stays = min(length, end - at)
                events.append((at, stays, (note, tied_in, self.carried is not None and index + 1 == len(sounding))))
        return events

    def _word(self, written: ET.Element, note: MelodyNote) -> None:
        assert note.lyric is not None
        goes_on = note.lyric.endswith("-")
        text = note.lyric[:-1] if goes_on else note.lyric
        place = ("m" if self.in_word else "i") if goes_on else ("t" if self.in_word else "s")
        attributes = {"wordpos": place} | ({"con": "d"} if goes_on else {})
        _add(_add(written, "verse", {"n": "1"}), "syl", attributes, text if note.kept else f"({text})")
        self.in_word = goes_on

    def _tablature(
        self,
        element: ET.Element,
        measure: ArrangedMeasure,
        places: Sequence[tuple[Fraction, Fraction, tuple[Pluck, ...]]],
    ) -> None:
        staff = _add(element, "staff", {"n": self.tab_staff})
        # An empty first layer sends all stems of the second one down.
        _add(_add(staff, "layer", {"n": "1"}), "mSpace")
        layer = _add(staff, "layer", {"n": "2"})
        written = pieces(places, measure.meter, measure.length, pickup=measure.number == 0, across=True)
        # A string may ring on beyond one written value: nothing more is struck, and a rest would be wrong.
        written = [
            replace(piece, what=None) if isinstance(piece, Piece) and not piece.first else piece for piece in written
        ]
        window = _tab_window(measure, self.arrangement)
        for parent, piece in _grouped(layer, beams(written, window, _missing(measure))):
            if piece.what is None:
                _add(parent, "rest" if piece.first else "space", _value(piece))
                continue
            group = _add(parent, "tabGrp", {"xml:id": f"{piece.what[0].id}g"} | _value(piece))
            _add(group, "tabDurSym")
            for pluck in piece.what:
                note = {"xml:id": pluck.id, "tab.course": str(pluck.string), "tab.fret": str(pluck.fret)}
                _add(group, "note", note)

    def _fingers(self, element: ET.Element, name: str, plucks: Sequence[Pluck]) -> None:
        fingers = fingers_of(plucks)
        if fingers:
            row = {
                "xml:id": name,
                "type": "rh",
                "label": "|".join(fingers),
                "staff": self.tab_staff,
                "place": "below",
                "startid": f"#{plucks[0].id}g",
            }
            _add(_add(element, "harm", row), "rend", {"fontsize": _ROW_SIZE}, fingers[0])

    def _slur(self, element: ET.Element, start: Pluck, end: Pluck) -> None:
        ends = {"startid": f"#{start.id}", "endid": f"#{end.id}"}
        curve = {"xml:id": f"{end.id}s", "type": end.technique, "staff": self.tab_staff, "curvedir": "above"}
        _add(element, "slur", curve | ends)
        letter = {"xml:id": f"{end.id}l", "type": "lh", "staff": self.tab_staff, "place": "above"}
        style = {"fontsize": _LETTER_SIZE, "fontstyle": "normal"}
        _add(_add(element, "dir", letter | {"startid": ends["startid"]}), "rend", style, SLUR_LETTERS[end.technique])


def _signature(meter: Meter) -> dict[str, str]:
    sign = {"count": str(meter.count), "unit": str(meter.unit)}
    return sign | ({"sym": "cut"} if (meter.count, meter.unit) == (2, 2) else {})


def _missing(measure: ArrangedMeasure) -> Fraction:
    return measure.meter.length - measure.length if measure.number == 0 else Fraction(0)


def _tab_window(measure: ArrangedMeasure, arrangement: Arrangement) -> Fraction:
    """How far a beam reaches in the tablature: four slots, a beat of a compound metre, or all six slots of a 3/4."""
    slot = measure.slot or arrangement.slot
    if measure.meter.compound:
        return measure.meter.beat
    if measure.length == 6 * slot and len({pluck.at for pluck in measure.plucks if pluck.technique == "pick"}) == 6:
        return measure.length
    return 4 * slot if measure.meter.length % (4 * slot) == 0 else 2 * slot


def _value(piece: Piece[T]) -> dict[str, str]:
    return {"dur": str(piece.dur)} | ({"dots": str(piece.dots)} if piece.dots else {})


def _grouped(layer: ET.Element, groups: Sequence[list[Piece[T]] | Tuplet[T]]) -> Iterator[tuple[ET.Element, Piece[T]]]:
    """Each piece with the element it goes into, beams and tuplets made on the way."""
    for group in groups:
        parent = layer
        inner: Sequence[Piece[T]]
        if isinstance(group, Tuplet):
            inner = group.pieces
            numbers = {"num": str(group.num), "numbase": str(group.numbase), "num.format": "count"}
            parent = _add(parent, "tuplet", numbers)
        else:
            inner = group
        if len(inner) > 1 and all(piece.dur >= 8 and piece.what is not None for piece in inner):
            parent = _add(parent, "beam")
        for piece in inner:
            yield parent, piece
