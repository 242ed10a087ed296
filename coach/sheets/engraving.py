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

__all__ = ["MARGIN", "Engraver", "page_width"]

MARGIN = 40
_STRETCH = Fraction(9, 8)  # systems are so much wider than the closest spacing that still reads
_LEAST_WIDTH = 450  # of a measure, so that bare measures are not blown up
_LEAST_PAGE = 1000  # what a heading needs
_CLEFS = 110  # what clef and margins take at the start of a system, and a sign of the key signature
_SIGN = 20
_SYSTEMS_A_PAGE = 24  # the most that Verovio takes; its pages may not be higher than 60000 either

_OPTIONS = {
    "adjustPageHeight": True,
    "fontTextLiberation": True,
    "footer": "none",
    "harmDist": 1.5,
    "header": "none",
    "lyricSize": 4.3,
    "lyricTopMinMargin": 2.5,
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
    "systemMaxPerPage": _SYSTEMS_A_PAGE,
    "xmlIdSeed": 1,
}

# The first line of the first staff of each measure: as long as the measure.
_STAFF = re.compile(r'class="measure">.*?class="staff">\s*<path d="M(\d+) \d+ L(\d+) ', re.DOTALL)


class Engraver:
    """Engraves one document.

    Attributes:
        closest: of each measure, its width in page units where notes stand as close as still reads.

    Raises:
        ValueError: when Verovio cannot read the document.
    """

    def __init__(self, mei: str) -> None:
        import verovio

        verovio.enableLog(verovio.LOG_OFF)
        # Without this, toolkits outside the main thread do not find their fonts.
        verovio.setDefaultResourcePath(str(Path(verovio.__file__).parent / "data"))
        self._toolkit = verovio.toolkit()
        self._toolkit.setOptions(_OPTIONS | {"breaks": "encoded", "noJustification": True})
        if not self._toolkit.loadData(mei):
            raise ValueError("Verovio cannot read the MEI")
        drawn = "".join(self._rendered())
        self.closest = tuple((int(end) - int(start)) // 10 for start, end in _STAFF.findall(drawn))

    def pages(self, width: int) -> list[str]:
        """The SVG of each page (of up to 24 systems), so many page units wide, with the breaks of the document."""
        self._toolkit.setOptions({"breaks": "line", "noJustification": False, "pageWidth": width})
        self._toolkit.redoLayout()
        return self._rendered()

    def _rendered(self) -> list[str]:
        return [self._toolkit.renderToSVG(page) for page in range(1, self._toolkit.getPageCount() + 1)]


def page_width(closest: Sequence[int], systems: Sequence[Sequence[PaperMeasure]], signs: int) -> int:
    """The page width, in page units, at which the widest system is comfortably spaced.

    Args:
        closest: the least width of each measure.
        systems: the measures of each system.
        signs: how many sharps or flats the key signature has.
    """
    clefs = _CLEFS + _SIGN * signs
    widths = []
    start = 0
    for system in systems:
        widths.append(sum(closest[start : start + len(system)]))
        start += len(system)
    most = max(sum(each.measure.number > 0 for each in system) for system in systems)
    return max(2 * MARGIN + max(int(max(widths) * _STRETCH), clefs + _LEAST_WIDTH * most), _LEAST_PAGE)
