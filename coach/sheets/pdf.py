"""A solo on paper: PDF set by typst from the engraved systems.

Typst is a typesetter in one wheel that needs nothing of the system; its fonts are those in it and Liberation Serif from
``fonts`` beside this module, never the system's, so that the same solo gives the same bytes everywhere. Repeats are
folded. Of the staff sizes that need the fewest pages the largest is taken.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import Arrangement
from coach.sheets.engraving import Engraver, system_widths
from coach.sheets.finish import FONT, finished
from coach.sheets.folding import PaperMeasure, folded
from coach.sheets.heading import Heading, read_key, solo_heading
from coach.sheets.mei import Score, solo_score
from coach.sheets.pages import PAPERS, Paper, dealt_to_pages, dealt_to_systems

__all__ = ["score_pdf", "to_pdf"]

_SIDE, _TOP, _BOTTOM = 12.0, 11.0, 16.0
_HEADING_GAP = 5.0
_LEAST_GAP, _MOST_GAP = 3.0, 11.0  # between systems
# Page units over the width of the text, from large staves to small: at the smallest a fret number is 2.7 mm high, and a
# letter of the right hand 2.2 mm (sizes of the font).
_UNITS = (1750, 1900, 2050, 2200, 2350, 2500)
_HIGHEST, _DEEPEST = 400, 120  # what a letter of a system may reach over its foot and below, in tenths of a unit
# Typst writes this moment (seconds since 1970) nowhere once the document has no date, but asks for one.
_EPOCH = 0


def to_pdf(arrangement: Arrangement, paper: Paper = "a4") -> bytes:
    """Write a solo as PDF.

    Args:
        arrangement: the solo.
        paper: ``a4`` or ``letter``, upright.

    Returns:
        The document; the same solo gives the same bytes, whatever fonts the system has.

    Raises:
        InputError: when a length cannot be written in notes.
    """
    return score_pdf(solo_score(arrangement), folded(arrangement), solo_heading(arrangement), paper)


def score_pdf(score: Score, measures: Sequence[PaperMeasure], heading: Heading, paper: Paper) -> bytes:
    """Write any score as PDF.

    Args:
        score: the score.
        measures: in paper order.
        heading: what stands over it.
        paper: ``a4`` or ``letter``, upright.
    """
    from typst import Compiler, Fonts

    width, height = PAPERS[paper]
    sheet = {
        "title": heading.title,
        "rights": heading.rights,
        "lines": heading.lines,
        "remarks": heading.remarks,
        "foot": heading.summary,
        "width": width,
        "height": height,
        "side": _SIDE,
        "top": _TOP,
        "bottom": _BOTTOM,
        "heading_gap": _HEADING_GAP,
        "systems": [],
        "described": [],
        "gaps": [],
        "pages": [],
    }
    template = (files("coach.sheets") / "sheet.typ").read_bytes()
    compiler = Compiler(
        template,
        font_paths=Fonts(include_system_fonts=False, font_paths=[str(files("coach.sheets") / "fonts")]),
        sys_inputs={"sheet": json.dumps(sheet)},
    )
    # How high the heading is, in millimetres.
    heading_height = float(json.loads(compiler.query("<heading-height>", field="value", one=True)))
    room = height - _TOP - _BOTTOM
    first = room - heading_height - _HEADING_GAP
    laid = _laid_out(score, measures, width - 2 * _SIDE, first, room)
    sheet |= {"systems": laid.drawings, "described": laid.described, "pages": laid.pages, "gaps": laid.gaps}
    pdf = compiler.compile(template, format="pdf", sys_inputs={"sheet": json.dumps(sheet)}, timestamp=_EPOCH)
    assert isinstance(pdf, bytes)
    return pdf


@dataclass(frozen=True, slots=True)
class _Laid:
    """Systems on pages.

    Attributes:
        drawings: of each system, as SVG.
        described: each system in words.
        pages: how many systems each page has.
        gaps: on each page, between two systems, in millimetres.
    """

    drawings: tuple[str, ...]
    described: tuple[str, ...]
    pages: tuple[int, ...]
    gaps: tuple[float, ...]


def _laid_out(score: Score, measures: Sequence[PaperMeasure], width: float, first: float, further: float) -> _Laid:
    """Engrave at the largest size that needs no more systems, and no more pages, than the smallest does."""
    signs = abs(read_key(score.arrangement.key).fifths)
    closest = Engraver(score.document([measures], drawn=True)).closest()
    dealings = {units: dealt_to_systems(measures, *system_widths(closest, units, signs)) for units in _UNITS}
    fewest = len(dealings[_UNITS[-1]])

    def at_size(units: int) -> _Laid:
        systems = dealings[units]
        pages = Engraver(score.document(systems, drawn=True), one_system_a_page=True).pages(units)
        glyphs, drawings = finished(pages, score.tabs)
        scale = width / (units * 10)
        boxes = [_box(body, height) for body, height in drawings]
        heights = [(bottom - top) * scale for top, bottom in boxes]
        counts = dealt_to_pages(heights, _LEAST_GAP, first, further)
        return _Laid(
            tuple(_drawing(glyphs, body, units * 10, *box) for (body, _), box in zip(drawings, boxes, strict=True)),
            tuple(f"Measures {system[0].measure.number} to {system[-1].measure.number}" for system in systems),
            tuple(counts),
            tuple(_gaps(heights, counts, first, further)),
        )

    smallest: _Laid | None = None
    for units in _UNITS[:-1]:
        if len(dealings[units]) == fewest:
            laid = at_size(units)
            if len(laid.pages) == 1:
                return laid
            smallest = smallest or at_size(_UNITS[-1])
            if len(laid.pages) == len(smallest.pages):
                return laid
    return smallest or at_size(_UNITS[-1])


def _box(body: ET.Element, height: float) -> tuple[float, float]:
    """Where a drawing begins and ends, down the page; letters that were added may lie outside what Verovio drew."""
    feet = [float(text.get("y", "0")) for text in body.iter("text")]
    return min(0.0, min(feet) - _HIGHEST), max(height, max(feet) + _DEEPEST)


def _gaps(heights: Sequence[float], counts: Sequence[int], first: float, further: float) -> list[float]:
    """The gap between the systems of each page: what is left, within limits."""
    gaps = []
    start = 0
    for number, count in enumerate(counts):
        left = (first if number == 0 else further) - sum(heights[start : start + count])
        gaps.append(min(max(left / max(count - 1, 1), _LEAST_GAP), _MOST_GAP))
        start += count
    return gaps


def _drawing(glyphs: ET.Element, body: ET.Element, width: float, top: float, bottom: float) -> str:
    box = f"0 {top:.0f} {width:.0f} {bottom - top:.0f}"
    root = ET.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "viewBox": box})
    root.append(glyphs)
    ET.SubElement(root, "g", {"font-family": FONT, "fill": "currentColor", "color": "black"}).append(body)
    return ET.tostring(root, encoding="unicode")
