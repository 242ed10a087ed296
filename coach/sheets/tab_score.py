"""A MusicXML score with a banjo tablature: which of its staves count.

The tablature is the first staff with a TAB clef whose notes have strings and frets, on five lines where there is one.
The tune is a staff without tablature: the first of another part; else one of the tablature's own part, unless it is
the solo once more in notes (every note of the tablature stands on it, and no words).
"""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree import ElementTree as ET

from coach.errors import TuneError
from coach.sheets.staff_reading import Bar, PartCopier, Staff, StaffNote, small_number

__all__ = ["TabScore", "read_tab_score", "tab_lines"]


@dataclass(frozen=True, slots=True)
class TabScore:
    """The staves that count.

    Attributes:
        title, rights: as the file gives them; may be empty.
        fields: the named values under ``<miscellaneous>``.
        bars: the measures on paper.
        tab: the tablature.
        tune: the staff of the tune; None where there is none.
    """

    title: str
    rights: str
    fields: dict[str, str]
    bars: list[Bar]
    tab: Staff
    tune: Staff | None


def tab_lines(root: ET.Element) -> int | None:
    """The lines of the tablature that a score would be read from; None where it has none, or is a tune beside one.

    A score whose only tablature has other than five lines counts as one only where nothing else has notes.
    """
    tabs: list[int] = []
    others = False
    for part in root.findall("part"):
        clefs = _tab_clefs(part)
        used: dict[str, set[int]] = {}
        for note in part.iter("note"):
            number = (note.findtext("staff") or "1").strip()
            string = note.findtext("notations/technical/string")
            if number in clefs and string is not None and note.find("notations/technical/fret") is not None:
                used.setdefault(number, set()).add(small_number(string))
            others |= number not in clefs and note.find("pitch") is not None
        # A tablature that does not tell its lines has as many as it uses.
        tabs += [clefs[number] or max(strings) for number, strings in sorted(used.items())]
    if 5 in tabs:
        return 5
    return tabs[0] if tabs and not others else None


def _tab_clefs(part: ET.Element) -> dict[str, int]:
    """The staves of a part that have a TAB clef, by number, with their lines (0 where not told)."""
    found: dict[str, int] = {}
    for attributes in part.iter("attributes"):
        for clef in attributes.findall("clef"):
            if (clef.findtext("sign") or "").strip() == "TAB":
                found.setdefault(clef.get("number", "1"), 0)
        for details in attributes.findall("staff-details"):
            number = details.get("number", "1")
            told = small_number(details.findtext("staff-lines") or "") or len(details.findall("staff-tuning"))
            if number in found and told:
                found[number] = told
    return found


def read_tab_score(root: ET.Element, where: str) -> TabScore:
    """Copy the staves that count.

    Raises:
        TuneError: when a value cannot be read; the sentence names the measure.
    """
    bars: list[Bar] = []
    staves: list[Staff] = []
    for place, part in enumerate(root.findall("part")):
        staves += PartCopier(place, bars, where).copy(part)
    for bar in bars:
        bar.length = bar.length or bar.meter.length
    tab = _tablature(staves)
    if tab is None:
        raise TuneError("there is no tablature in this score", where=where, cure="give notes a string and a fret")
    title = root.findtext("work/work-title") or root.findtext("movement-title") or ""
    rights = root.findtext("identification/rights") or root.findtext("identification/creator") or ""
    fields = {
        each.get("name", ""): (each.text or "").strip()
        for each in root.findall("identification/miscellaneous/miscellaneous-field")
    }
    return TabScore(title.strip(), rights.strip(), fields, bars, tab, _tune(staves, tab))


def _tablature(staves: list[Staff]) -> Staff | None:
    fretted = [
        staff
        for staff in staves
        if staff.tab and any(note.string is not None and note.fret is not None for _, note in staff.every())
    ]
    return next((staff for staff in fretted if _lines(staff) == 5), fretted[0] if fretted else None)


def _lines(staff: Staff) -> int:
    return staff.lines or len(staff.tuning) or max((note.string or 0 for _, note in staff.every()), default=0)


def _tune(staves: list[Staff], tab: Staff) -> Staff | None:
    sung = [staff for staff in staves if not staff.tab and any(note.pitch is not None for _, note in staff.every())]
    other = next((staff for staff in sung if staff.part != tab.part), None)
    if other is not None:
        return other
    own = next(iter(sung), None)
    if own is None:
        return None
    worded = any(note.lyric for _, note in own.every())
    stands = {(index, note.at, _class(note)) for index, note in own.every()}
    copied = all((index, note.at, _class(note)) in stands for index, note in tab.every() if not note.grace)
    return None if copied and not worded else own


def _class(note: StaffNote) -> int | None:
    return None if note.pitch is None else note.pitch % 12
