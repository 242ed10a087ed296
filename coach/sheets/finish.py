"""What is put right in an SVG page that Verovio has drawn.

The tablature is finished by :mod:`coach.sheets.tab_marks`. Pinches get all their letters, chord
signs are set in a font that every reader has, dots of dotted stems stand clear of the strings, and colours are written
as attributes, so that the page needs no style element. Coordinates are Verovio's (see :mod:`coach.sheets.engraving`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from xml.etree import ElementTree as ET

from coach.sheets.tab_marks import finish_tabs, marks_height, segment
from coach.sheets.tab_staff import TabStaff

__all__ = ["FONT", "finished"]

FONT = "'Liberation Serif', Tinos, 'Times New Roman', Times, serif"
_SIGN_FONT = "'DejaVu Sans', 'DejaVu Sans Mono', 'Noto Music', 'Segoe UI Symbol', sans-serif"
# Verovio sets the signs of chord symbols in the private use area of its own font.
_SIGNS = {"\uea64": "♭", "\uea65": "♮", "\uea66": "♯"}

_ROW = 300  # between the letters of a pinch
_DOT = 42
_OVER_STAFF = 50  # from a staff, or the marks over it, to the feet of measure numbers
_NUMBER_ROW = 310  # from the feet of measure numbers to those of chords, whose slashes reach below their feet
_ENDING = 400  # size of the number of an ending
_ENDING_FEET = 340  # from the bracket down to its feet
_GOES_ON, _GOES_ON_FEET = 300, 270  # the same where it goes on from the system before, in brackets that reach lower
_SAME_ROW = 300  # chords that Verovio sets no farther apart are of one row
_AFTER_BAR = 50  # of a measure number's end
_LEFT_EDGE = -180  # from the staves of a system to its bracket

_AUTHORED = re.compile(r"(?:[a-z]+-)?m\d+(?:[ncr]\d+(?:t\d+)?|e\d+[fgsl]?)?")


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
        root = ET.fromstring(page)  # noqa: S314 -- Verovio's own output # nosec B314
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
    _chord_rows(body, tabs)
    _endings(body)
    _measure_numbers(body, tabs)
    finish_tabs(body, tabs)
    _colours(body)


def _drop_helpers(body: ET.Element) -> None:
    """Drop the marks that Verovio draws for its own use and hides by a style rule, and those that kept room free."""
    for helper in [*_classed(body, "placeholder"), *_classed(body, "room")]:
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


def _chord_rows(body: ET.Element, tabs: Sequence[TabStaff]) -> None:
    """Set the chords over a tablature that stands alone in one row, over its marks and the measure numbers.

    Where chords are so dense that Verovio has set some of them higher, they stay higher.
    """
    for system in _classed(body, "system"):
        texts = [text for chord in _classed(system, "chord") for text in chord.findall("text")]
        feet = [float(text.get("y", "")) for text in texts]
        row = _top(next(_classed(system, "staff"))) - marks_height(tabs[0]) - _OVER_STAFF - _NUMBER_ROW
        for text, foot in zip(texts, feet, strict=True):
            higher = max(feet) - foot
            text.set("y", f"{row - (higher if higher > _SAME_ROW else 0):g}")
            text[1:] = []  # the line that kept room


def _endings(body: ET.Element) -> None:
    """Set the numbers of endings close under their brackets, so that the chords below have room."""
    for bracket in _classed(body, "voltaBracket"):
        text = bracket.find("text")
        assert text is not None
        line = min(segment(path)[1] for path in bracket.findall("path"))
        goes_on = "(" in "".join(text.itertext())
        text.set("y", f"{line + (_GOES_ON_FEET if goes_on else _ENDING_FEET):g}")
        for span in text.iter("tspan"):
            if "font-size" in span.attrib:
                span.set("font-size", f"{_GOES_ON if goes_on else _ENDING}px")


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
            if stem is None:
                # A dotted whole note has no stem that a dot could stand beside.
                sign.remove(dot)
                continue
            x, top, _, bottom = (float(number) for number in segment(stem))
            dot.attrib.update({"cx": f"{x + 110:g}", "cy": f"{(top + bottom) / 2:g}", "rx": f"{_DOT}", "ry": f"{_DOT}"})


def _colours(body: ET.Element) -> None:
    """Say by attributes what Verovio says in a style element, which a page's security policy would block."""
    for element in body.iter():
        if element.tag in {"path", "polygon", "rect", "ellipse", "polyline"}:
            element.set("stroke", "currentColor")


def _measure_numbers(body: ET.Element, tabs: Sequence[TabStaff]) -> None:
    """Set measure numbers before their barlines, under the chords: next to the staff, or over the marks of its tab.

    That of the first measure of a system stands over its bracket.
    """
    for system in _classed(body, "system"):
        for place, measure in enumerate(_classed(system, "measure")):
            for group in _classed(measure, "mNum"):
                group.set("font-style", "italic")
                text = group.find("text")
                assert text is not None
                staves = list(_classed(measure, "staff"))
                left = _left(staves[0])
                if place == 0:
                    text.attrib.update({"text-anchor": "start", "x": f"{left + _LEFT_EDGE:g}"})
                else:
                    marks = marks_height(tabs[0]) if len(staves) == len(tabs) else 0
                    text.attrib.update({"text-anchor": "end", "x": f"{left + _AFTER_BAR:g}"})
                    text.set("y", f"{_top(staves[0]) - marks - _OVER_STAFF:g}")


def _top(staff: ET.Element) -> float:
    """The height of the first line of a staff."""
    return min(segment(path)[1] for path in staff.findall("path"))


def _left(staff: ET.Element) -> float:
    """Where the lines of a staff begin."""
    return min(segment(path)[0] for path in staff.findall("path"))
