"""What is put right in an SVG page that Verovio has drawn.

Slurs and slides are drawn from number to number, pinches get all their letters, fret numbers are made larger, chord
signs are set in a font that every reader has, dots of dotted stems stand clear of the strings, and colours are written
as attributes, so that the page needs no style element. Coordinates are Verovio's (see :mod:`coach.sheets.engraving`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import Pluck
from coach.sheets.tab_staff import TabStaff

__all__ = ["FONT", "finished"]

FONT = "'Liberation Serif', Tinos, 'Times New Roman', Times, serif"
_SIGN_FONT = "'DejaVu Sans', 'Noto Music', 'Segoe UI Symbol', sans-serif"
# Verovio sets the signs of chord symbols in the private use area of its own font.
_SIGNS = {"\uea64": "♭", "\uea65": "♮", "\uea66": "♯"}

_FRET = 372  # size of the fret numbers
_DIGIT = 186  # width of a digit at that size, half an em
_GAP = 34  # between a number and its string on either side
_BASELINE = 122  # of a number, below its string
_VEROVIO_BASELINE = 104
_LETTER = 320  # size of the letters over slurs
_ROW = 300  # between the letters of a pinch
_DOT = 42
_LEFT_EDGE = -180  # of the bracket before a system

_AUTHORED = re.compile(r"(?:[a-z]+-)?m\d+(?:[ncr]\d+(?:t\d+)?|e\d+[fgsl]?)?")
_MEASURE = re.compile(r"m\d+(?=e)")
_SEGMENT = re.compile(r"M(\d+) (\d+) L(\d+) (\d+)")


@dataclass(frozen=True, slots=True)
class _Number:
    """A fret number: its middle, its string's height, and the ends of its staff in its measure."""

    x: float
    y: float
    half: float
    left: float
    right: float
    lines: tuple[ET.Element, ...]


def finished(pages: Sequence[str], tabs: Sequence[TabStaff]) -> tuple[ET.Element, list[tuple[ET.Element, float]]]:
    """Put pages right.

    Args:
        pages: as Verovio wrote them.
        tabs: the tablatures of the score.

    Returns:
        The glyphs that the pages use, as one ``defs`` element, and each page's drawing with its height.
    """
    glyphs = ET.Element("defs")
    known: set[str] = set()
    drawings = []
    for page in pages:
        root = ET.fromstring(page)  # noqa: S314 -- Verovio's own output
        _plain_names(root)
        for glyph in root.findall("defs/g"):
            if glyph.get("id") not in known:
                known.add(glyph.get("id", ""))
                glyphs.append(glyph)
        drawing = _found(root, "svg", "definition-scale")
        height = float(drawing.get("viewBox", "").split()[3])
        body = _found(drawing, "g", "page-margin")
        _finish(body, tabs)
        drawings.append((body, height))
    return glyphs, drawings


def _plain_names(root: ET.Element) -> None:
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]


def _classed(root: ET.Element, name: str) -> Iterator[ET.Element]:
    return (element for element in root.iter() if name in element.get("class", "").split())


def _found(root: ET.Element, tag: str, name: str) -> ET.Element:
    return next(element for element in root.iter(tag) if name in element.get("class", "").split())


def _finish(body: ET.Element, tabs: Sequence[TabStaff]) -> None:
    _drop_helpers(body)
    _drop_auto_ids(body)
    _chord_signs(body)
    _finger_rows(body)
    _stem_dots(body)
    _measure_numbers(body)
    numbers: dict[str, _Number] = {}
    for measure in _classed(body, "measure"):
        staves = list(_classed(measure, "staff"))[-len(tabs) :]
        for staff, tab in zip(staves, tabs, strict=True):
            staff.set("class", "staff tab")
            numbers |= _fret_numbers(staff, tab.plucks)
    for tab in tabs:
        _slurs(body, numbers, tab)
    _colours(body)


def _drop_helpers(body: ET.Element) -> None:
    """Drop the marks that Verovio draws for its own use and hides by a style rule."""
    for helper in list(_classed(body, "placeholder")):
        helper.clear()


def _drop_auto_ids(body: ET.Element) -> None:
    """Keep the ids that we gave: those that Verovio made up say nothing and could meet ours."""
    for element in body.iter():
        if "id" in element.attrib and not _AUTHORED.fullmatch(element.attrib["id"]):
            del element.attrib["id"]


def _chord_signs(body: ET.Element) -> None:
    for span in body.iter("tspan"):
        if span.text in _SIGNS:
            size = float(span.get("font-size", "720px").removesuffix("px"))
            span.text = _SIGNS[span.text]
            span.set("font-family", _SIGN_FONT)
            span.set("font-size", f"{size / 2:g}px")


def _finger_rows(body: ET.Element) -> None:
    """Write the further letters of a pinch under the first."""
    for harm in _classed(body, "rh"):
        label = harm.find("title")
        text = harm.find("text")
        assert label is not None
        assert label.text is not None
        assert text is not None
        harm.remove(label)
        first, *others = label.text.split("|")
        size = next(span.get("font-size", "") for span in text.iter("tspan") if span.text == first)
        for index, letter in enumerate([first, *others]):
            place = {"x": text.get("x", ""), "y": f"{float(text.get('y', '')) + index * _ROW:g}"}
            ET.SubElement(harm, "text", place | {"text-anchor": "middle", "font-size": size}).text = letter
        harm.remove(text)


def _stem_dots(body: ET.Element) -> None:
    for sign in _classed(body, "tabDurSym"):
        for dot in sign.findall("ellipse"):
            stem = sign.find("g/path")
            assert stem is not None
            x, top, _, bottom = (float(number) for number in _segment(stem))
            dot.attrib.update({"cx": f"{x + 110:g}", "cy": f"{(top + bottom) / 2:g}", "rx": f"{_DOT}", "ry": f"{_DOT}"})


def _segment(path: ET.Element) -> tuple[str, str, str, str]:
    match = _SEGMENT.fullmatch(path.get("d", ""))
    assert match is not None
    return match[1], match[2], match[3], match[4]


def _fret_numbers(staff: ET.Element, plucks: Mapping[str, Pluck]) -> dict[str, _Number]:
    """Write the fret numbers larger, open the strings round them as far, and tell where they are."""
    lines = tuple(path for path in staff.findall("path"))
    ends = [_segment(line) for line in lines]
    left, right = min(int(end[0]) for end in ends), max(int(end[2]) for end in ends)
    numbers = {}
    for note in _classed(staff, "note"):
        name = note.get("id", "")
        pluck = plucks[name]
        text = note.find("text")
        assert text is not None
        x = float(text.get("x", ""))
        y = min((float(end[1]) for end in ends), key=lambda y: abs(y - float(text.get("y", "")) + _VEROVIO_BASELINE))
        half = len(str(pluck.fret)) * _DIGIT / 2 + _GAP
        note.remove(text)
        place = {"x": f"{x:g}", "y": f"{y + _BASELINE:g}", "text-anchor": "middle", "font-size": f"{_FRET}px"}
        ET.SubElement(note, "text", place).text = str(pluck.fret)
        note.set("class", f"note {pluck.role}")
        numbers[name] = _Number(x, y, half, left, right, lines)
        _open_string(lines, x, y, half)
    return numbers


def _open_string(lines: tuple[ET.Element, ...], x: float, y: float, half: float) -> None:
    """Let the pieces of a string end where a number's room begins."""
    for line in lines:
        start, height, end, _ = (float(number) for number in _segment(line))
        if height == y and start < x < end:
            continue
        if height == y and abs(end - x) < 2 * half and end < x:
            line.set("d", f"M{start:g} {y:g} L{round(x - half)} {y:g}")
        elif height == y and abs(start - x) < 2 * half and start > x:
            line.set("d", f"M{round(x + half)} {y:g} L{end:g} {y:g}")


def _slurs(body: ET.Element, numbers: Mapping[str, _Number], tab: TabStaff) -> None:
    groups = {element.get("id", ""): element for element in body.iter("g")}
    plucks = tab.plucks
    for start_id, end_id in tab.slurred:
        start, end = plucks[start_id], plucks[end_id]
        first, last = numbers.get(start_id), numbers.get(end_id)
        if first is None and last is None:
            continue
        draw = _slide if end.technique == "slide" else _arc
        rise = end.fret - start.fret
        mark = groups.get(f"{end_id}s")
        if mark is None:
            # Verovio leaves out a slur that crosses from one system to the next.
            home = _MEASURE.search(start_id if first is not None else end_id)
            assert home is not None
            mark = ET.SubElement(groups[home[0]], "g", {"class": f"slur {end.technique}"})
            if first is not None:
                # The half on the next page has no id: ids are unique.
                mark.set("id", f"{end_id}s")
        for child in list(mark):
            mark.remove(child)
        letter = groups.get(f"{end_id}l")
        if first is not None and last is not None and first.y == last.y:
            mark.append(draw(first.x + first.half, last.x - last.half, first.y, rise))
            if end.technique == "slide":
                _cut_string(first, last)
            middle = (first.x + last.x) / 2
        else:
            if first is not None:
                mark.append(draw(first.x + first.half, min(first.right, first.x + 700), first.y, rise / 2))
            if last is not None:
                mark.append(draw(max(last.left, last.x - 600), last.x - last.half, last.y, rise / 2))
            middle = first.x + 400 if first is not None else 0
        if letter is not None:
            _letter(letter, middle)


def _arc(left: float, right: float, y: float, _rise: float) -> ET.Element:
    """A bow over a string from the shoulder of one number to the shoulder of the next."""
    left, right = left - 60, right + 60
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
        start, height, end, _ = (float(number) for number in _segment(line))
        if height == first.y and first.x < start and end < last.x:
            line.set("d", f"M{start:g} {height:g} L{start:g} {height:g}")


def _letter(group: ET.Element, middle: float) -> None:
    text = group.find("text")
    assert text is not None
    letter = "".join(text.itertext()).strip()
    group.remove(text)
    place = {"x": f"{middle:g}", "y": text.get("y", ""), "text-anchor": "middle", "font-size": f"{_LETTER}px"}
    ET.SubElement(group, "text", place).text = letter


def _colours(body: ET.Element) -> None:
    """Say by attributes what Verovio says in a style element, which a page's security policy would block."""
    for element in body.iter():
        if element.tag in {"path", "polygon", "rect", "ellipse", "polyline"}:
            element.set("stroke", "currentColor")


def _measure_numbers(body: ET.Element) -> None:
    """Set measure numbers before their barlines, so that a chord on the first beat has room."""
    for group in _classed(body, "mNum"):
        group.set("font-style", "italic")
        text = group.find("text")
        assert text is not None
        at_barline = "x" in text.attrib
        text.set("x", f"{float(text.attrib['x']) + 50:g}" if at_barline else f"{_LEFT_EDGE}")
        text.set("text-anchor", "end" if at_barline else "start")
