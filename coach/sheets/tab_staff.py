"""The tablature of a solo in MEI, with the fingers of both hands and the slurs.

A pluck has its own id on its note, its finger of the left hand ``<pluck>f``; the right hand's fingers under a place are
``m<number>r<k>``. With a prefix, which tells several solos in one score apart, all of them begin with it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.instrument.fretboard import STRINGS
from coach.sheets.elements import add, grouped, signature, value
from coach.sheets.notation import Piece, beams, pieces
from coach.sheets.spelling import spelt
from coach.sheets.text import SLUR_LETTERS
from coach.sheets.written_notes import missing, tab_window
from coach.tunes.tune import Meter

__all__ = ["TabStaff", "fingers_of", "slurs"]

_ROW_SIZE = "45%"  # of the fingers under the tablature
_LETTER_SIZE = "55%"  # of the letters over slurs
# What keeps room free over the strings in a drawing, as the size of a text: by whether there are slurs, and whether no,
# one or more fingers of the left hand stand over a place. Under chords measure numbers need room too.
_ROOMS = {
    (False, 0): "40%",
    (False, 1): "40%",
    (False, 2): "95%",
    (True, 0): "75%",
    (True, 1): "95%",
    (True, 2): "95%",
}
_ROOMS_UNDER_CHORDS = {
    (False, 0): "10%",
    (False, 1): "60%",
    (False, 2): "190%",
    (True, 0): "135%",
    (True, 1): "190%",
    (True, 2): "190%",
}
# From a tablature to the next: room for a pinch's fingers under the one and for slurs over the other.
_SPACING = "25vu"

_Place = tuple[Fraction, Fraction, tuple[Pluck, ...]]


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


class TabStaff:
    """The tablature staff of one solo.

    Args:
        arrangement: the solo.
        number: of the staff in the score, kept as an attribute.
        prefix: of the ids.
        label: the name before the staff, three letters of it on further systems; else empty.
        under_tab: whether it stands under another tablature.

    Attributes:
        plucks: all of them, by the ids of their notes.
        slurred: the ids of the notes at both ends of each slur.
        fingered: the ids of the notes whose finger of the left hand is written.
    """

    def __init__(
        self, arrangement: Arrangement, number: int, *, prefix: str = "", label: str = "", under_tab: bool = False
    ) -> None:
        self.number = number
        self._under_tab = under_tab
        self._arrangement = arrangement
        self._number = str(number)
        self._prefix = prefix
        self._label = label
        self._slurs: dict[str, list[tuple[Pluck, Pluck]]] = {}
        for start, end in slurs(arrangement):
            self._slurs.setdefault(start.id, []).append((start, end))
        self.plucks = MappingProxyType({prefix + pluck.id: pluck for _, pluck in arrangement.plucks()})
        self.slurred = tuple((prefix + start.id, prefix + end.id) for start, end in slurs(arrangement))
        told = _told_fingers(arrangement)
        self.fingered = frozenset(prefix + name for name in told)
        held = Counter((each.number, pluck.at) for each, pluck in arrangement.plucks() if pluck.id in told)
        self._held = max(held.values(), default=0)
        self._measures = {measure.number: measure for measure in arrangement.measures}

    @property
    def held(self) -> int:
        """How many fingers of the left hand are written over one place at most."""
        return self._held

    def define(self, group: ET.Element, meter: Meter) -> None:
        """Add the definition of the staff."""
        tab = add(group, "staffDef", {"n": self._number, "lines": "5", "notationtype": "tab.guitar"})
        if self._under_tab:
            tab.set("spacing", _SPACING)
        if self._label:
            add(tab, "label", {}, self._label)
            add(tab, "labelAbbr", {}, f"{self._label[:3]}.")
        add(tab, "clef", {"shape": "TAB", "line": "3"})
        tuning = add(tab, "tuning")
        for string in STRINGS:
            note = spelt(self._arrangement.tuning.open_pitch(string), 1)
            course = {"n": str(string), "pname": note.letter, "oct": str(note.octave)}
            add(tuning, "course", course if note.sign == "n" else {**course, "accid": note.sign})
        self.sign(tab, meter)

    def sign(self, staff: ET.Element, meter: Meter) -> None:
        """Add a time signature, not drawn where the staff stands under a tune."""
        add(staff, "meterSig", signature(meter) | ({} if self._number == "1" else {"visible": "false"}))

    def write(self, element: ET.Element, number: int) -> None:
        """Add the staff of one measure."""
        measure = self._measures[number]
        staff = add(element, "staff", {"n": self._number})
        # An empty first layer sends all stems of the second one down.
        add(add(staff, "layer", {"n": "1"}), "mSpace")
        layer = add(staff, "layer", {"n": "2"})
        written = pieces(_places(measure.plucks), measure.meter, measure.length, pickup=number == 0, across=True)
        # A string may ring on beyond one written value: nothing more is struck, and a rest would be wrong.
        written = [
            replace(piece, what=None) if isinstance(piece, Piece) and not piece.first else piece for piece in written
        ]
        window = tab_window(measure, measure.slot or self._arrangement.slot)
        for parent, piece in grouped(layer, beams(written, window, missing(measure))):
            if piece.what is None:
                add(parent, "rest" if piece.first else "space", value(piece))
                continue
            group = add(parent, "tabGrp", {"xml:id": f"{self._prefix}{piece.what[0].id}g"} | value(piece))
            add(group, "tabDurSym")
            for pluck in piece.what:
                note = {"tab.course": str(pluck.string), "tab.fret": str(pluck.fret)}
                add(group, "note", {"xml:id": self._prefix + pluck.id} | note)

    def room(self) -> str:
        """How high a line of text is that keeps room free over the strings for what will be drawn there."""
        kinds = _ROOMS if self.number > 1 else _ROOMS_UNDER_CHORDS
        return kinds[bool(self._slurs), min(self._held, 2)]

    def write_signs(self, element: ET.Element, number: int, *, drawn: bool) -> None:
        """Add what stands over and under the staff of one measure.

        Args:
            element: the measure.
            number: of the measure.
            drawn: whether :mod:`coach.sheets.tab_marks` will draw what stands over the strings, so that only room is
                kept for it.
        """
        measure = self._measures[number]
        for index, (_, _, plucks) in enumerate(_places(measure.plucks), 1):
            self._right_hand(element, f"{self._prefix}m{number}r{index}", plucks)
        if drawn:
            self._keep_room(element, measure)
            return
        for pluck in measure.plucks:
            if self._prefix + pluck.id in self.fingered:
                self._left_hand(element, pluck)
            for start, end in self._slurs.get(pluck.id, ()):
                self._slur(element, start, end)

    def _keep_room(self, element: ET.Element, measure: ArrangedMeasure) -> None:
        """Keep room under a tune: once a measure, since Verovio sets marks that meet over one another."""
        marked = [
            pluck for pluck in measure.plucks if self._prefix + pluck.id in self.fingered or pluck.id in self._slurs
        ]
        if marked and self.number > 1:
            where = {"type": "room", "staff": self._number, "place": "above"}
            room = add(element, "dir", where | {"startid": f"#{self._prefix}{marked[0].id}"})
            add(room, "rend", {"fontsize": self.room()}, "l")

    def _right_hand(self, element: ET.Element, name: str, plucks: Sequence[Pluck]) -> None:
        fingers = fingers_of(plucks)
        if fingers:
            row = {
                "xml:id": name,
                "type": "rh",
                "label": "|".join(fingers),
                "staff": self._number,
                "place": "below",
                "startid": f"#{self._prefix}{plucks[0].id}g",
            }
            add(add(element, "harm", row), "rend", {"fontsize": _ROW_SIZE}, fingers[0])

    def _left_hand(self, element: ET.Element, pluck: Pluck) -> None:
        where = {"xml:id": f"{self._prefix}{pluck.id}f", "staff": self._number, "place": "above"}
        add(element, "fing", where | {"startid": f"#{self._prefix}{pluck.id}"}, str(pluck.left))

    def _slur(self, element: ET.Element, start: Pluck, end: Pluck) -> None:
        first, last = self._prefix + start.id, self._prefix + end.id
        curve = {"xml:id": f"{last}s", "type": end.technique, "staff": self._number, "curvedir": "above"}
        add(element, "slur", curve | {"startid": f"#{first}", "endid": f"#{last}"})
        letter = {"xml:id": f"{last}l", "type": "lh", "staff": self._number, "place": "above", "startid": f"#{first}"}
        style = {"fontsize": _LETTER_SIZE, "fontstyle": "normal"}
        add(add(element, "dir", letter), "rend", style, SLUR_LETTERS[end.technique])


def _told_fingers(arrangement: Arrangement) -> set[str]:
    """The ids of the plucks whose finger of the left hand is written: a shape that is struck again needs it once."""
    told: set[str] = set()
    before: list[tuple[int, int, int | None]] = []
    for measure in arrangement.measures:
        for _, _, plucks in _places(measure.plucks):
            shape = sorted((pluck.string, pluck.fret, pluck.left) for pluck in plucks)
            if len(plucks) == 1 or shape != before:
                told.update(pluck.id for pluck in plucks if pluck.left is not None)
            before = shape
    return told


def _places(plucks: Sequence[Pluck]) -> list[_Place]:
    """The plucks of a measure by position: where, how long, which."""
    at: dict[Fraction, list[Pluck]] = {}
    for pluck in plucks:
        at.setdefault(pluck.at, []).append(pluck)
    return [(where, min(pluck.length for pluck in here), tuple(here)) for where, here in sorted(at.items())]
