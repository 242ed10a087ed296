"""A solo as one tall SVG page.

The drawing needs no style element: colours and fonts are attributes (``currentColor``), so it looks the same alone,
in a page that forbids inline styles, and printed. Hooks for a page: a measure is ``#m5`` (class ``measure``), a pluck
``#m5e2`` (class ``note`` and its role), the fingers under a place ``#m5r1`` (class ``rh``), the tablature of a measure
``#m5 .tab``. The user unit is a tenth of Verovio's: a fret number is 372 high.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import Arrangement
from coach.sheets.engraving import MARGIN, Engraver, page_width
from coach.sheets.finish import FONT, finished
from coach.sheets.folding import PaperMeasure, written_out
from coach.sheets.heading import Heading, read_key, solo_heading
from coach.sheets.mei import Score, dealt, solo_score

__all__ = ["score_svg", "to_svg"]

_TITLE = 640
_RIGHTS = 300
_LINE = 360
_CHARACTER = 0.46  # of the size: the mean width of a character of the font
_SPACE = 700  # under the heading and each page; room for the letters of a last pinch
# A page may be so wide, in page units: what is set beside clef and margins, and for each measure that was asked for.
_WIDEST = 400
_WIDEST_MEASURE = 600
_LEAST_PAGE = 1000  # what a heading needs
_PIXEL = 18  # user units


def to_svg(arrangement: Arrangement, *, measures_per_system: int = 4, heading: bool = True) -> str:
    """Engrave a solo.

    Args:
        arrangement: the solo.
        measures_per_system: 4 suits a desktop, 2 a phone, 1 eyes that are far away; the page is as wide as they need,
            and where words or notes are so dense that it would be hard to read, systems have fewer.
        heading: whether title, tier, key, tuning, capo, tempo and remarks stand on top.

    Returns:
        The document as text, to be stored as UTF-8. The same solo gives the same text.

    Raises:
        InputError: when a length cannot be written in notes.
    """
    title = solo_heading(arrangement)
    return score_svg(solo_score(arrangement), written_out(arrangement), title, measures_per_system, headed=heading)


def score_svg(
    score: Score, measures: Sequence[PaperMeasure], heading: Heading, measures_per_system: int, *, headed: bool
) -> str:
    """Engrave any score.

    Args:
        score: the score.
        measures: in paper order.
        heading: what it is.
        measures_per_system: as in :func:`to_svg`.
        headed: whether the heading stands on top.
    """
    pages, width = _engraved(score, measures, measures_per_system, _LEAST_PAGE if headed else 0)
    glyphs, drawings = finished(pages, score.tabs)
    root = ET.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "class": "sheet", "role": "img"})
    root.set("aria-label", heading.summary)
    root.append(glyphs)
    music = ET.SubElement(root, "g", {"font-family": FONT, "fill": "currentColor", "color": "black"})
    y = _heading(music, heading, width) if headed else 0.0
    for body, height in drawings:
        place = ET.SubElement(music, "g", {"transform": f"translate(0, {y:.0f})"})
        place.append(body)
        y += height + _SPACE
    root.set("viewBox", f"0 0 {width} {y:.0f}")
    root.set("width", f"{width / _PIXEL:.0f}")
    root.set("height", f"{y / _PIXEL:.0f}")
    for element in root.iter():
        # White space between elements is half of what Verovio writes.
        element.text = element.text and element.text.strip()
        element.tail = None
    return ET.tostring(root, encoding="unicode") + "\n"


def _engraved(
    score: Score, paper: Sequence[PaperMeasure], measures_per_system: int, least: int
) -> tuple[list[str], int]:
    """The pages and their width in user units; with fewer measures in a system where they would grow too wide."""
    signs = abs(read_key(score.arrangement.key).fifths)
    count = measures_per_system
    engraver = Engraver(score.document(dealt(paper, count), drawn=True))
    closest = engraver.closest()
    widest = _WIDEST + _WIDEST_MEASURE * measures_per_system
    while (width := page_width(closest, dealt(paper, count), signs, least)) > widest and count > 1:
        count -= 1
    if count != measures_per_system:
        engraver = Engraver(score.document(dealt(paper, count), drawn=True))
    return engraver.pages(width), width * 10


def _heading(parent: ET.Element, heading: Heading, width: int) -> float:
    """Write the heading; returns the height that it takes."""
    group = ET.SubElement(parent, "g", {"class": "heading"})
    left = MARGIN * 10
    y = 0.0

    def write(text: str, size: int, **attributes: str) -> None:
        nonlocal y
        for line in textwrap.wrap(text, int((width - 2 * left) / (_CHARACTER * size))):
            y += 1.3 * size
            place = {"x": str(left), "y": f"{y:.0f}", "font-size": str(size)}
            ET.SubElement(group, "text", place | attributes).text = line

    write(heading.title, _TITLE, **{"font-weight": "bold"})
    if heading.rights:
        write(heading.rights, _RIGHTS, **{"font-style": "italic"})
    for line in heading.lines:
        write(line, _LINE)
    for remark in heading.remarks:
        write(remark, _LINE, **{"font-style": "italic"})
    return y + _SPACE
