"""The head of a MusicXML score: title, rights, what has no element of its own, the page with its texts, the parts.

References:
    MusicXML 4.0, W3C Community Group Final Report. Lengths on the page are tenths of the distance of two staff lines;
    credits are placed from the lower left corner.
"""

from __future__ import annotations

from fractions import Fraction
from xml.etree import ElementTree as ET

from coach.arranging.arrangement import Arrangement
from coach.sheets.heading import further_remarks, heading_lines
from coach.tunes.plain_text import plain_text

__all__ = ["BANJO_PART", "TUNE_PART", "add", "write_head", "write_page_start"]

TUNE_PART, BANJO_PART = "P1", "P2"

_BANJO = 105  # General MIDI level 1, counted from 0; MusicXML counts from 1
_INSTRUMENT = f"{BANJO_PART}-I1"

# A4, ISO 216, in millimetres; a staff of 7 mm has four distances of ten tenths.
_STAFF_MM = 7
_PAGE_MM = (210, 297)
_MARGIN_MM = 15
# Heights of the texts over the first system, in tenths: the title, the lines under it, and room below them.
_TITLE, _SUBTITLE, _LINE, _ROOM = 50, 40, 26, 60


def add(parent: ET.Element, tag: str, text: object = None, **attributes: str) -> ET.Element:
    """Add an element; its text loses what no sheet can hold, ``_`` in the name of an attribute stands for ``-``."""
    element = ET.SubElement(parent, tag, {name.replace("_", "-"): value for name, value in attributes.items()})
    if text is not None:
        element.text = plain_text(str(text))
    return element


def write_head(root: ET.Element, solo: Arrangement, *, sung: bool) -> None:
    """Write all that stands before the parts; ``sung`` tells whether the tune is one of them."""
    add(add(root, "work"), "work-title", solo.title)
    _identify(add(root, "identification"), solo)
    _page(add(root, "defaults"))
    _credits(root, solo)
    _parts(add(root, "part-list"), sung=sung)


def write_page_start(measure: ET.Element, solo: Arrangement) -> None:
    """Leave room over the first system for the texts of the page."""
    room = _TITLE + _SUBTITLE + _LINE * (len(heading_lines(solo)) - 1) + _ROOM
    add(add(add(measure, "print"), "system-layout"), "top-system-distance", room)


def _tenths(millimetres: int) -> int:
    return round(Fraction(millimetres * 40, _STAFF_MM))


def _identify(about: ET.Element, solo: Arrangement) -> None:
    if solo.rights:
        add(about, "rights", solo.rights)
    encoding = add(about, "encoding")
    add(encoding, "software", "banjo practice coach")
    for element in ("accidental", "beam", "stem"):
        add(encoding, "supports", element=element, type="yes")
    more = add(about, "miscellaneous")
    for name, value in (
        ("tune", solo.tune),
        ("tier", solo.tier),
        ("slot", solo.slot),
        ("source-scale", solo.source_scale),
        ("bounce", solo.bounce),
        ("tuning", solo.tuning.name),
    ):
        add(more, "miscellaneous-field", value, name=name)
    for index, remark in enumerate(further_remarks(solo), 1):
        add(more, "miscellaneous-field", remark, name=f"remark-{index}")


def _page(defaults: ET.Element) -> None:
    scaling = add(defaults, "scaling")
    add(scaling, "millimeters", _STAFF_MM)
    add(scaling, "tenths", 40)
    page = add(defaults, "page-layout")
    width, height = map(_tenths, _PAGE_MM)
    add(page, "page-height", height)
    add(page, "page-width", width)
    margins = add(page, "page-margins", type="both")
    for side in ("left", "right", "top", "bottom"):
        add(margins, f"{side}-margin", _tenths(_MARGIN_MM))


def _credits(root: ET.Element, solo: Arrangement) -> None:
    width, height = map(_tenths, _PAGE_MM)
    margin = _tenths(_MARGIN_MM)
    first, *others = heading_lines(solo)
    middle, y = width // 2, height - margin
    _credit(root, "title", solo.title, 18, (middle, y))
    y -= _TITLE
    _credit(root, "subtitle", first, 12, (middle, y))
    y -= _SUBTITLE
    for line in others:
        _credit(root, None, line, 9, (middle, y))
        y -= _LINE
    _credit(root, "rights", solo.rights, 8, (middle, margin))


def _credit(root: ET.Element, kind: str | None, text: str, size: int, place: tuple[int, int]) -> None:
    """Write a text in the middle of the page: readers that pass over heights still put such texts below one another."""
    if not plain_text(text):
        return
    credit = add(root, "credit", page="1")
    if kind:
        add(credit, "credit-type", kind)
    vertical = "bottom" if kind == "rights" else "top"
    words = add(credit, "credit-words", text, font_size=str(size), justify="center", halign="center", valign=vertical)
    words.set("default-x", str(place[0]))
    words.set("default-y", str(place[1]))


def _parts(parts: ET.Element, *, sung: bool) -> None:
    if sung:
        group = add(parts, "part-group", type="start", number="1")
        add(group, "group-symbol", "bracket")
        add(add(parts, "score-part", id=TUNE_PART), "part-name", "Tune")
    part = add(parts, "score-part", id=BANJO_PART)
    add(part, "part-name", "Banjo")
    instrument = add(part, "score-instrument", id=_INSTRUMENT)
    add(instrument, "instrument-name", "Banjo")
    add(instrument, "instrument-sound", "pluck.banjo")
    sound = add(part, "midi-instrument", id=_INSTRUMENT)
    add(sound, "midi-channel", 1)
    add(sound, "midi-program", _BANJO + 1)
    if sung:
        add(parts, "part-group", type="stop", number="1")
