"""MEI engraved by Verovio, as bare SVG pages.

Verovio holds the interpreter's lock while it works: a process that clicks must not call this itself.
Its units are a tenth of the page options' unit: a page 2500 wide has coordinates from 0 to 25000.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

from coach.sheets.folding import PaperMeasure

__all__ = ["MARGIN", "Engraver", "page_width", "system_widths"]

MARGIN = 40
_STRETCH = Fraction(9, 8)  # systems are so much wider than the closest spacing that still reads
_LEAST_WIDTH = 450  # of a measure, so that bare measures are not blown up
_CLEFS = 110  # what clef and margins take at the start of a system, and a sign of the key signature
_SIGN = 20
_SYSTEMS_A_PAGE = 24  # the most that Verovio takes; its pages may not be higher than 60000 either

_OPTIONS = {
    "adjustPageHeight": True,
    "fontTextLiberation": True,
    "footer": "none",
    "harmDist": 2.5,
    "header": "none",
    "lyricSize": 4.3,
    "lyricTopMinMargin": 2.5,
    "lyricWordSpace": 3,
    "minLastJustification": 0.6,
    "mnumInterval": 1,
    "pageHeight": 60000,
    "pageMarginBottom": 0,
    "pageMarginLeft": MARGIN,
    "pageMarginRight": MARGIN,
    "pageMarginTop": 0,
    "scale": 40,
    "spacingStaff": 8,
    "spacingSystem": 8,
    "svgRemoveXlink": True,
    "svgViewBox": True,
    "xmlIdSeed": 1,
}

# The first line of the first staff of each measure: as long as the measure.
_STAFF = re.compile(r'class="measure">.*?class="staff">\s*<path d="M(\d+) \d+ L(\d+) ', re.DOTALL)


class Engraver:
    """Engraves one document.

    Args:
        mei: the document.
        one_system_a_page: whether each system is a page of its own; else a page has up to 24.

    Raises:
        ValueError: when Verovio cannot read the document.
    """

    def __init__(self, mei: str, *, one_system_a_page: bool = False) -> None:
        import verovio

        verovio.enableLog(verovio.LOG_OFF)
        # Without this, toolkits outside the main thread do not find their fonts.
        verovio.setDefaultResourcePath(str(Path(verovio.__file__).parent / "data"))
        self._toolkit = verovio.toolkit()
        # Without breaks in the document Verovio would make its own.
        breaks = "encoded" if "<sb" in mei else "none"
        systems = {"systemMaxPerPage": 1 if one_system_a_page else _SYSTEMS_A_PAGE}
        self._toolkit.setOptions(_OPTIONS | systems | {"breaks": breaks, "noJustification": True})
        if not self._toolkit.loadData(mei):
            raise ValueError("Verovio cannot read the MEI")

    def closest(self) -> tuple[int, ...]:
        """Of each measure, its width in page units where notes stand as close as still reads; asked for first."""
        drawn = "".join(self._rendered())
        return tuple((int(end) - int(start)) // 10 for start, end in _STAFF.findall(drawn))

    def pages(self, width: int) -> list[str]:
        """The SVG of each page, so many page units wide, with the breaks of the document."""
        self._toolkit.setOptions({"breaks": "line", "noJustification": False, "pageWidth": width})
        self._toolkit.redoLayout()
        return self._rendered()

    def _rendered(self) -> list[str]:
        return [self._toolkit.renderToSVG(page) for page in range(1, self._toolkit.getPageCount() + 1)]


def page_width(closest: Sequence[int], systems: Sequence[Sequence[PaperMeasure]], signs: int, least: int = 0) -> int:
    """The page width, in page units, at which the widest system is comfortably spaced.

    Args:
        closest: the least width of each measure.
        systems: the measures of each system.
        signs: how many sharps or flats the key signature has.
        least: what it must not fall below.
    """
    clefs = _CLEFS + _SIGN * signs
    widths = []
    start = 0
    for system in systems:
        widths.append(sum(closest[start : start + len(system)]))
        start += len(system)
    most = max(sum(each.measure.number > 0 for each in system) for system in systems)
    return max(2 * MARGIN + max(int(max(widths) * _STRETCH), clefs + _LEAST_WIDTH * most), least)


def system_widths(closest: Sequence[int], units: int, signs: int) -> tuple[list[float], float]:
    """The width that each measure takes when comfortably spaced, and the room of a system, both in page units.

    Args:
        closest: the least width of each measure.
        units: the width of the page.
        signs: how many sharps or flats the key signature has.
    """
    # The first measure of the document has the clef and the signatures in its least width.
    clefs = _CLEFS + _SIGN * signs
    widths = [max(width * float(_STRETCH), _LEAST_WIDTH * 0.8) for width in (closest[0] - clefs, *closest[1:])]
    return widths, units - 2 * MARGIN - clefs
