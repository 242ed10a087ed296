"""A solo as MEI 5: the tune on a staff with its words and chords, the tablature under it.

The staves are in :mod:`coach.sheets.tune_staff` and :mod:`coach.sheets.tab_staff`. A measure is ``m<number>``, a chord
``m<number>c<k>``. Where repeats are folded, a measure bears the id and number of the first time that it is played.

MEI's schema is in no package registry that was searched; the tests have Verovio read every score without a warning.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.sheets.elements import add, signature
from coach.sheets.folding import PaperMeasure, folded, written_out
from coach.sheets.heading import further_remarks, heading_lines
from coach.sheets.tab_staff import TabStaff
from coach.sheets.tune_staff import TuneStaff
from coach.tunes.tune import Meter

__all__ = ["Score", "dealt", "solo_score", "to_mei"]

_CHORD_SIZE = "57%"  # of a chord over a tablature that stands alone

System = Sequence[PaperMeasure]


def to_mei(arrangement: Arrangement, *, measures_per_system: int = 4, fold: bool = False) -> str:
    """Write a solo as MEI.

    Args:
        arrangement: the solo; without a melody only the tablature is written.
        measures_per_system: >= 1 (see :func:`dealt`).
        fold: whether repeats are folded (see :mod:`coach.sheets.folding`), else written out.

    Returns:
        The document as text, to be stored as UTF-8.

    Raises:
        InputError: when a length cannot be written in notes.
    """
    paper = folded(arrangement) if fold else written_out(arrangement)
    return solo_score(arrangement).document(dealt(paper, measures_per_system))


def dealt(paper: Sequence[PaperMeasure], measures_per_system: int) -> list[tuple[PaperMeasure, ...]]:
    """The measures dealt to systems; a pickup is not counted where a system has room for four measures and more."""
    roomy = measures_per_system >= 4
    systems: list[list[PaperMeasure]] = [[]]
    for each in paper:
        if sum(other.measure.number > 0 or not roomy for other in systems[-1]) == measures_per_system:
            systems.append([])
        systems[-1].append(each)
    return [tuple(system) for system in systems]


def solo_score(arrangement: Arrangement) -> Score:
    """The score of one solo."""
    sung = any(measure.melody for measure in arrangement.measures)
    tune = TuneStaff(arrangement) if sung else None
    return Score(arrangement, tune, [TabStaff(arrangement, 2 if sung else 1)], heading_lines(arrangement)[0])


class Score:
    """A score of one tune.

    Attributes:
        arrangement: the solo that title, heading, metres and chords are taken from.
        tune: the staff of the tune, None where only tablature is written.
        tabs: the tablatures under it; their solos have the same measures.
        subtitle: what is told of the whole.
    """

    def __init__(
        self, arrangement: Arrangement, tune: TuneStaff | None, tabs: Sequence[TabStaff], subtitle: str
    ) -> None:
        self.arrangement = arrangement
        self.tune = tune
        self.tabs = tuple(tabs)
        self.subtitle = subtitle

    def document(self, systems: Sequence[System], *, drawn: bool = False) -> str:
        """The MEI document.

        Args:
            systems: the measures of each system.
            drawn: whether it is only to be drawn: marks that :mod:`coach.sheets.tab_marks` draws are left out, and room
                is kept for them.

        Raises:
            InputError: when a length cannot be written in notes.
        """
        root = ET.Element("mei", {"xmlns": "http://www.music-encoding.org/ns/mei", "meiversion": "5.0"})
        self._head(root)
        score = root
        for tag in ("music", "body", "mdiv", "score"):
            score = add(score, tag)
        meter = systems[0][0].measure.meter
        self._definitions(add(score, "scoreDef"), meter)
        section = parent = add(score, "section")
        ending = None
        last = systems[-1][-1].measure.number
        for index, system in enumerate(systems):
            for place, paper in enumerate(system):
                begins = paper.ending != ending
                if index > 0 and place == 0:
                    add(section if begins else parent, "sb")
                if paper.ending is None:
                    parent = section
                elif begins:
                    parent = add(section, "ending", {"n": str(paper.ending), "label": f"{paper.ending}."})
                ending = paper.ending
                if paper.measure.meter != meter:
                    meter = paper.measure.meter
                    self._meter_change(parent, meter)
                self._measure(parent, paper, last=paper.measure.number == last, drawn=drawn)
        return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"

    def _head(self, root: ET.Element) -> None:
        description = add(add(root, "meiHead"), "fileDesc")
        titles = add(description, "titleStmt")
        add(titles, "title", {"type": "main"}, self.arrangement.title)
        add(titles, "title", {"type": "subordinate"}, self.subtitle)
        publication = add(description, "pubStmt")
        if self.arrangement.rights:
            add(add(publication, "availability"), "useRestrict", {}, self.arrangement.rights)
        notes = add(description, "notesStmt")
        for line in (*heading_lines(self.arrangement)[1:], *further_remarks(self.arrangement)):
            add(notes, "annot", {}, line)

    def _definitions(self, score: ET.Element, meter: Meter) -> None:
        group = add(score, "staffGrp", {"symbol": "bracket", "bar.thru": "false"})
        for staff in (self.tune, *self.tabs):
            if staff is not None:
                staff.define(group, meter)

    def _meter_change(self, parent: ET.Element, meter: Meter) -> None:
        group = add(add(parent, "scoreDef"), "staffGrp")
        if self.tune is not None:
            add(add(group, "staffDef", {"n": "1"}), "meterSig", signature(meter))
        for tab in self.tabs:
            tab.sign(add(group, "staffDef", {"n": str(tab.number)}), meter)

    def _measure(self, parent: ET.Element, paper: PaperMeasure, *, last: bool, drawn: bool) -> None:
        measure = paper.measure
        attributes = {"xml:id": f"m{measure.number}"}
        if measure.number > 0:
            attributes["n"] = str(measure.number)
        if measure.length != measure.meter.length:
            attributes["metcon"] = "false"
        if paper.repeat_start:
            attributes["left"] = "rptstart"
        if paper.repeat_end:
            attributes["right"] = "rptend"
        elif last:
            attributes["right"] = "end"
        element = add(parent, "measure", attributes)
        if self.tune is not None:
            self.tune.write(element, paper)
        for tab in self.tabs:
            tab.write(element, measure.number)
        self._chords(element, measure, drawn=drawn)
        for tab in self.tabs:
            tab.write_signs(element, measure.number, drawn=drawn)

    def _chords(self, element: ET.Element, measure: ArrangedMeasure, *, drawn: bool) -> None:
        for index, chord in enumerate(measure.chords, 1):
            beat = float(chord.at * measure.meter.unit / 4 + 1)
            where = {"xml:id": f"m{measure.number}c{index}", "staff": "1", "tstamp": f"{beat:g}", "place": "above"}
            symbol = chord.chord.symbol.replace("#", "♯").replace("b", "♭")
            if self.tune is not None:
                add(element, "harm", where, symbol)
            else:
                # Two kinds of harm on one staff would push each other aside: over a tablature a chord is a direction.
                style = {"fontsize": _CHORD_SIZE, "fontstyle": "normal"}
                direction = add(element, "dir", where | {"type": "chord"})
                add(direction, "rend", style, symbol)
                if drawn:
                    add(direction, "lb")
                    add(direction, "rend", {"fontsize": self.tabs[0].room()}, "\u00a0")
