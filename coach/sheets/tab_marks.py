"""What is drawn anew in the tablatures of an SVG page: fret numbers, slurs, the left hand's fingers.

Fret numbers are made larger and the strings opened round them. The numbers of a metre, which Verovio sets as close as
on a staff of notes, get half of the strings each. Slurs and slides are drawn from number to number; where
one crosses to the next system each half is drawn on its own. Over the strings run two rows: next to them the fingers
of the left hand, each over its number, and above these the letters of slurs, each midway between its numbers. Bows rise
from the shoulders of the numbers, so that the rows are clear of each other and of the bows. Coordinates are Verovio's
(see :mod:`coach.sheets.engraving`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import Pluck
from coach.sheets.tab_staff import TabStaff
from coach.sheets.text import SLUR_LETTERS

__all__ = ["finish_tabs", "marks_height", "segment"]

_FRET = 372  # size of the fret numbers
_DIGIT = 186  # width of a digit at that size, half an em
_GAP = 34  # between a number and its string on either side
_BASELINE = 122  # of a number, below its string
_VEROVIO_BASELINE = 104
_FINGER = 250  # size of the left hand's fingers
_FINGER_ROW = -180  # of their feet, from the first string
_FINGER_STEP = 190  # from one to the next where several strings are held
_LETTER = 320  # size of the letters over slurs
_LETTER_ROW = -350  # of their feet, where no fingers stand under them
_LETTER_ROW_OVER_FINGERS = -440

_MEASURE = re.compile(r"m\d+(?=e)")
_SEGMENT = re.compile(r"M(\d+) (\d+) L(\d+) (\d+)")
_PLACED = re.compile(r"translate\((\d+), (\d+)\)(.*)")


@dataclass(frozen=True, slots=True)
class _Number:
    """A fret number: its middle, its string's height; the ends and the first string of its staff in its measure."""

    x: float
    y: float
    half: float
    left: float
    right: float
    top: float
    lines: tuple[ET.Element, ...]


def finish_tabs(body: ET.Element, tabs: Sequence[TabStaff]) -> None:
    """Put the tablatures of a page right, and give their staves the class ``tab``."""
    numbers: dict[str, _Number] = {}
    for measure in _classed(body, "measure"):
        staves = list(_classed(measure, "staff"))[-len(tabs) :]
        for staff, tab in zip(staves, tabs, strict=True):
            staff.set("class", "staff tab")
            _meter(staff)
            numbers |= _fret_numbers(staff, tab.plucks)
    groups = {element.get("id", ""): element for element in body.iter("g")}
    for tab in tabs:
        _left_hand(groups, numbers, tab)
        _slurs(groups, numbers, tab)


def marks_height(tab: TabStaff) -> float:
    """How far the marks of a tablature reach over its first string."""
    fingers = -_FINGER_ROW + (tab.held - 1) * _FINGER_STEP + _FINGER if tab.held else 0.0
    letters = -_letter_row(tab) + _LETTER if tab.slurred else 0.0
    return max(fingers, letters)


def _letter_row(tab: TabStaff) -> float:
    return _LETTER_ROW_OVER_FINGERS if tab.held else _LETTER_ROW


def segment(path: ET.Element) -> tuple[float, float, float, float]:
    """Both ends of a straight line: x, y, x, y."""
    match = _SEGMENT.fullmatch(path.get("d", ""))
    assert match is not None
    return float(match[1]), float(match[2]), float(match[3]), float(match[4])


def _classed(root: ET.Element, name: str) -> Iterator[ET.Element]:
    return (element for element in root.iter() if name in element.get("class", "").split())


def _fret_numbers(staff: ET.Element, plucks: Mapping[str, Pluck]) -> dict[str, _Number]:
    """Write the fret numbers larger, open the strings round them as far, and tell where they are."""
    lines = tuple(path for path in staff.findall("path"))
    ends = [segment(line) for line in lines]
    left, right = min(end[0] for end in ends), max(end[2] for end in ends)
    top = min(end[1] for end in ends)
    numbers = {}
    for note in _classed(staff, "note"):
        name = note.get("id", "")
        pluck = plucks[name]
        text = note.find("text")
        assert text is not None
        x = float(text.get("x", ""))
        y = min((end[1] for end in ends), key=lambda y: abs(y - float(text.get("y", "")) + _VEROVIO_BASELINE))
        half = len(str(pluck.fret)) * _DIGIT / 2 + _GAP
        note.remove(text)
        _text(note, str(pluck.fret), x, y + _BASELINE, _FRET)
        note.set("class", f"note {pluck.role}")
        numbers[name] = _Number(x, y, half, left, right, top, lines)
        _open_string(lines, x, y, half)
    return numbers


def _meter(staff: ET.Element) -> None:
    """Set the numbers of a metre into the middles of both halves of the strings, the sign of cut time between them."""
    heights = [segment(line)[1] for line in staff.findall("path")]
    middle, quarter = (min(heights) + max(heights)) / 2, (max(heights) - min(heights)) / 4
    for sign in _classed(staff, "meterSig"):
        places = {digit: _PLACED.fullmatch(digit.get("transform", "")) for digit in sign.iter("use")}
        rows = sorted({int(place[2]) for place in places.values() if place})
        for digit, place in places.items():
            assert place is not None
            y = middle if len(rows) == 1 else middle - quarter if int(place[2]) == rows[0] else middle + quarter
            digit.set("transform", f"translate({place[1]}, {y:g}){place[3]}")


def _text(parent: ET.Element, text: str, x: float, y: float, size: float) -> None:
    place = {"x": f"{x:g}", "y": f"{y:g}", "text-anchor": "middle", "font-size": f"{size:g}px"}
    ET.SubElement(parent, "text", place).text = text


def _open_string(lines: tuple[ET.Element, ...], x: float, y: float, half: float) -> None:
    """Let the pieces of a string end where a number's room begins."""
    for line in lines:
        start, height, end, _ = segment(line)
        if height == y and start < x < end:
            continue
        if height == y and abs(end - x) < 2 * half and end < x:
            line.set("d", f"M{start:g} {y:g} L{round(x - half)} {y:g}")
        elif height == y and abs(start - x) < 2 * half and start > x:
            line.set("d", f"M{round(x + half)} {y:g} L{end:g} {y:g}")


def _home(groups: Mapping[str, ET.Element], name: str) -> ET.Element:
    """The measure that a pluck stands in."""
    measure = _MEASURE.search(name)
    assert measure is not None
    return groups[measure[0]]


def _left_hand(groups: Mapping[str, ET.Element], numbers: Mapping[str, _Number], tab: TabStaff) -> None:
    """Write the fingers of the left hand over the strings, those of several strings from string 1 down."""
    held: dict[tuple[float, float], list[str]] = {}
    for name, number in numbers.items():
        if name in tab.fingered:
            held.setdefault((number.x, number.top), []).append(name)
    for (x, top), names in held.items():
        for index, name in enumerate(sorted(names, key=lambda name: -tab.plucks[name].string)):
            mark = ET.SubElement(_home(groups, name), "g", {"id": f"{name}f", "class": "fing"})
            _text(mark, str(tab.plucks[name].left), x, top + _FINGER_ROW - index * _FINGER_STEP, _FINGER)


def _slurs(groups: Mapping[str, ET.Element], numbers: Mapping[str, _Number], tab: TabStaff) -> None:
    plucks = tab.plucks
    for start_id, end_id in tab.slurred:
        start, end = plucks[start_id], plucks[end_id]
        first, last = numbers.get(start_id), numbers.get(end_id)
        if first is None and last is None:
            continue
        draw = _slide if end.technique == "slide" else _arc
        rise = end.fret - start.fret
        home = _home(groups, end_id if first is None else start_id)
        mark = ET.SubElement(home, "g", {"class": f"slur {end.technique}"})
        if first is None:
            # The half on the next page: its id and its letter are on the page before.
            assert last is not None
            mark.append(draw(max(last.left, last.x - 600), last.x - last.half, last.y, rise / 2))
            continue
        mark.set("id", f"{end_id}s")
        if last is not None and first.y == last.y:
            mark.append(draw(first.x + first.half, last.x - last.half, first.y, rise))
            if end.technique == "slide":
                _cut_string(first, last)
            middle = (first.x + last.x) / 2
        else:
            mark.append(draw(first.x + first.half, min(first.right, first.x + 700), first.y, rise / 2))
            if last is not None:
                mark.append(draw(max(last.left, last.x - 600), last.x - last.half, last.y, rise / 2))
            middle = first.x + min(400, (first.right - first.x) / 2)
        letter = ET.SubElement(home, "g", {"id": f"{end_id}l", "class": "dir lh"})
        _text(letter, SLUR_LETTERS[end.technique], middle, first.top + _letter_row(tab), _LETTER)


def _arc(left: float, right: float, y: float, _rise: float) -> ET.Element:
    """A bow over a string from the shoulder of one number to the shoulder of the next."""
    left, right = left - 40, right + 40
    base, height = y - 150, min(190.0, 60 + (right - left) / 5)
    inner = height - 45
    quarter = (right - left) / 4
    outer_bow = f"M{left:g} {base:g}C{left + quarter:g} {base - height:g} {right - quarter:g} {base - height:g} "
    inner_bow = f"{right:g} {base:g}C{right - quarter:g} {base - inner:g} {left + quarter:g} {base - inner:g} "
    return ET.Element("path", {"d": f"{outer_bow}{inner_bow}{left:g} {base:g}Z", "stroke-width": "12"})


def _slide(left: float, right: float, y: float, rise: float) -> ET.Element:
    """A slanted line along a string, up when the fret rises; close to the numbers, since they may be near."""
    left, right = left - _GAP / 2, right + _GAP / 2
    slant = min(75.0, (right - left) / 4) * (1 if rise > 0 else -1)
    return ET.Element("path", {"d": f"M{left:g} {y + slant:g} L{right:g} {y - slant:g}", "stroke-width": "30"})


def _cut_string(first: _Number, last: _Number) -> None:
    """Take away the piece of string under a slide, so that the slide can be seen."""
    for line in first.lines:
        start, height, end, _ = segment(line)
        if height == first.y and first.x < start and end < last.x:
            line.set("d", f"M{start:g} {height:g} L{start:g} {height:g}")
