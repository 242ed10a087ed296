"""A score on paper: engraved system by system, at the staff size that suits, and laid on pages.

Of the staff sizes that need the fewest systems and pages the largest is taken, so that no sheet has a page more than it
must, and none is smaller than it must be. Where the staves would have to be small for that, systems are halved if that
costs no page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from coach.sheets.engraving import Engraver, system_widths
from coach.sheets.finish import FONT, finished
from coach.sheets.folding import PaperMeasure
from coach.sheets.heading import read_key
from coach.sheets.mei import Score
from coach.sheets.pages import dealt_to_pages, dealt_to_systems

__all__ = ["Laid", "laid_out"]

_LEAST_GAP, _MOST_GAP = 3.0, 11.0  # between systems, in millimetres
# Page units over the width of the text, from large staves to small: at the smallest, on A4, a fret number is 2.7 mm
# high, and a letter of the right hand 2.2 mm (sizes of the font).
_UNITS = (1750, 1900, 2050, 2200, 2350, 2500)
_SMALL = 2050  # and more: staves that are worth halving the systems for
_HALF = 2  # measures in half a system
_HIGHEST, _DEEPEST = 400, 120  # what a letter of a system may reach over its foot and below, in tenths of a unit


@dataclass(frozen=True, slots=True)
class Laid:
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


def laid_out(score: Score, measures: Sequence[PaperMeasure], width: float, first: float, further: float) -> Laid:
    """Engrave a score and lay it out on pages.

    Args:
        score: the score.
        measures: in paper order.
        width: of the systems, in millimetres.
        first: the height that the first page has for systems, in millimetres.
        further: that of every other page.
    """
    signs = abs(read_key(score.arrangement.key).fifths)
    closest = Engraver(score.document([measures], drawn=True)).closest()
    dealings = {units: dealt_to_systems(measures, *system_widths(closest, units, signs)) for units in _UNITS}
    fewest = len(dealings[_UNITS[-1]])
    largest = next(units for units in _UNITS if len(dealings[units]) == fewest)
    halved: dict[int, list[tuple[PaperMeasure, ...]]] = {}
    if largest >= _SMALL:
        halved = {
            units: dealt_to_systems(measures, *system_widths(closest, units, signs), most=_HALF)
            for units in _UNITS
            if units < largest
        }

    def at_size(units: int) -> Laid:
        systems = halved.get(units) or dealings[units]
        pages = Engraver(score.document(systems, drawn=True), one_system_a_page=True).pages(units)
        glyphs, drawings = finished(pages, score.tabs)
        scale = width / (units * 10)
        boxes = [_box(body, height) for body, height in drawings]
        heights = [(bottom - top) * scale for top, bottom in boxes]
        counts = dealt_to_pages(heights, _LEAST_GAP, first, further)
        return Laid(
            tuple(_drawing(glyphs, body, units * 10, *box) for (body, _), box in zip(drawings, boxes, strict=True)),
            tuple(f"Measures {system[0].measure.number} to {system[-1].measure.number}" for system in systems),
            tuple(counts),
            tuple(_gaps(heights, counts, first, further)),
        )

    smallest: Laid | None = None
    for units in _UNITS[:-1]:
        if len(dealings[units]) == fewest or units in halved:
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
