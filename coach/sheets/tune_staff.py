"""The tune on a staff in MEI: its notes as the player thinks them, with words under them.

It is written in the key of the shape, an octave above sound (treble clef with an 8 below). A note of the tune is
``m<number>n<k>``. Where a passage comes again with other words, they are a second line, and so
are those of its second ending.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.sheets.elements import add, grouped, signature, value
from coach.sheets.folding import PaperMeasure
from coach.sheets.heading import read_key
from coach.sheets.spelling import Accidentals, spelt
from coach.sheets.written_notes import sung_events, sung_groups
from coach.tunes.tune import Meter

__all__ = ["TuneStaff"]


class TuneStaff:
    """The melody staff of a solo, number 1 of the score.

    Args:
        arrangement: the solo that the melody is taken from.
        left_out: whether words of notes that the solo leaves out stand in parentheses.
    """

    def __init__(self, arrangement: Arrangement, *, left_out: bool = True) -> None:
        self._capo = arrangement.capo
        self._fifths = read_key(arrangement.key).fifths
        self._left_out = left_out
        numbers = (measure.number for measure in arrangement.measures)
        self._events = dict(zip(numbers, sung_events(arrangement), strict=True))
        self._word_places = dict(_word_places(arrangement))

    def define(self, group: ET.Element, meter: Meter) -> None:
        """Add the definition of the staff."""
        staff = add(group, "staffDef", {"n": "1", "lines": "5"})
        add(staff, "clef", {"shape": "G", "line": "2", "dis": "8", "dis.place": "below"})
        signs = "0" if self._fifths == 0 else f"{abs(self._fifths)}{'s' if self._fifths > 0 else 'f'}"
        add(staff, "keySig", {"sig": signs})
        add(staff, "meterSig", signature(meter))

    def write(self, element: ET.Element, paper: PaperMeasure) -> None:
        """Add the staff of one measure."""
        measure = paper.measure
        events = self._events[measure.number]
        layer = add(add(element, "staff", {"n": "1"}), "layer", {"n": "1"})
        if not events:
            add(layer, "mRest")
            return
        numbers = {id(note): number for number, note in enumerate(measure.melody, 1)}
        counts: dict[int, int] = {}
        signs = Accidentals(self._fifths)
        for parent, piece in grouped(layer, sung_groups(measure, events)):
            if piece.what is None:
                add(parent, "rest", value(piece))
                continue
            sung = piece.what
            spelling = spelt(sung.note.pitch - self._capo, self._fifths)
            attributes = value(piece) | {"pname": spelling.letter, "oct": str(spelling.octave)}
            begins, ends = piece.first and not sung.tied_in, piece.last and not sung.tied_out
            number = numbers.get(id(sung.note), 0)
            counts[number] = counts.get(number, 0) + 1
            attributes["xml:id"] = f"m{measure.number}n{number}" + (f"t{counts[number]}" if counts[number] > 1 else "")
            sign = signs.printed(spelling)
            if begins and sign:
                attributes["accid"] = sign
            elif spelling.sign != "n":
                attributes["accid.ges"] = spelling.sign
            if not (begins and ends):
                attributes["tie"] = "i" if begins else "t" if ends else "m"
            written_note = add(parent, "note", attributes)
            if begins:
                self._words(written_note, paper, number)

    def _words(self, note: ET.Element, paper: PaperMeasure, number: int) -> None:
        self._word(note, paper.measure, number, 2 if paper.lower_words else 1)
        if paper.again is not None and paper.new_words:
            self._word(note, paper.again, number, 2)

    def _word(self, written: ET.Element, measure: ArrangedMeasure, number: int, line: int) -> None:
        note = measure.melody[number - 1]
        if not note.lyric:
            return
        goes_on = note.lyric.endswith("-")
        text = note.lyric[:-1] if goes_on else note.lyric
        attributes = {"wordpos": self._word_places[measure.number, number]} | ({"con": "d"} if goes_on else {})
        left_out = self._left_out and not note.kept
        add(add(written, "verse", {"n": str(line)}), "syl", attributes, f"({text})" if left_out else text)


def _word_places(arrangement: Arrangement) -> Iterator[tuple[tuple[int, int], str]]:
    """For each syllable, by measure and number of its note, its place in the word as MEI names it."""
    inside = False
    for measure in arrangement.measures:
        for number, note in enumerate(measure.melody, 1):
            if note.lyric:
                goes_on = note.lyric.endswith("-")
                yield (measure.number, number), ("m" if inside else "i") if goes_on else ("t" if inside else "s")
                inside = goes_on
