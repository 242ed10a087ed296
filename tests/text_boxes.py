"""Where the texts of a drawing stand, measured by a browser: the ink's height, the advance's width."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile

from playwright.sync_api import Page

# Boxes may share so much, in user units (a fret number is 372 high): hinting moves a glyph's edge by half a pixel, and
# a pixel is 18 units.
TOLERANCE = 9.0

_MEASURE = """
() => [...document.body.children].map((svg) => {
  const toUser = svg.getScreenCTM().inverse();
  const pen = document.createElement("canvas").getContext("2d");
  const inks = new Map();
  const inkOf = (font, letter) => {
    const key = `${font} ${letter}`;
    if (!inks.has(key)) {
      pen.font = font;
      inks.set(key, pen.measureText(letter));
    }
    return inks.get(key);
  };
  const boxes = [];
  for (const text of svg.querySelectorAll("text")) {
    const count = text.getNumberOfChars();
    let written = "";
    let left = Infinity, right = -Infinity, top = Infinity, bottom = -Infinity;
    const matrix = toUser.multiply(text.getScreenCTM());
    const walker = document.createTreeWalker(text, NodeFilter.SHOW_TEXT);
    let index = 0;
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const style = getComputedStyle(node.parentElement);
      const font = `${style.fontStyle} ${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
      for (const letter of node.data) {
        if (index >= count) break;
        const extent = text.getExtentOfChar(index);
        const foot = text.getStartPositionOfChar(index).y;
        const ink = inkOf(font, letter);
        index += letter.length;
        written += letter;
        if (!letter.trim()) continue;
        left = Math.min(left, extent.x);
        right = Math.max(right, extent.x + extent.width);
        top = Math.min(top, foot - ink.actualBoundingBoxAscent);
        bottom = Math.max(bottom, foot + ink.actualBoundingBoxDescent);
      }
    }
    if (left === Infinity) continue;
    const from = new DOMPoint(left, top).matrixTransform(matrix);
    const to = new DOMPoint(right, bottom).matrixTransform(matrix);
    const named = text.closest("[id]");
    const classed = text.closest("g[class]");
    const what = `${classed ? classed.getAttribute("class") : ""} ${named ? named.id : ""}`.trim();
    boxes.push([written, what, from.x, from.y, to.x, to.y]);
  }
  const [x, y, width, height] = svg.getAttribute("viewBox").split(" ").map(Number);
  return {boxes, page: [x, y, x + width, y + height]};
})
"""


@dataclass(frozen=True, slots=True)
class Box:
    """A text and the rectangle it takes, in user units."""

    text: str
    what: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        return (
            self.left + TOLERANCE < other.right
            and other.left + TOLERANCE < self.right
            and self.top + TOLERANCE < other.bottom
            and other.top + TOLERANCE < self.bottom
        )


@dataclass(frozen=True, slots=True)
class Measured:
    """The boxes of all texts of a drawing, and the drawing's own: left, top, right, bottom."""

    boxes: list[Box]
    page: tuple[float, float, float, float]


def measured(page: Page, *svgs: str) -> list[Measured]:
    """What drawings of one style measure; together they cost one loading of the page."""
    page.set_content(f'<body style="margin:0">{"".join(svgs)}</body>')
    return [Measured([Box(*row) for row in told["boxes"]], tuple(told["page"])) for told in page.evaluate(_MEASURE)]


def troubles(page: Page, *svgs: str) -> list[str]:
    """What is wrong in drawings of one style: texts that meet, and texts that leave their drawing."""
    return [trouble for each in measured(page, *svgs) for trouble in troubles_of(each)]


def troubles_of(drawing: Measured) -> list[str]:
    """The same of a drawing that was measured."""
    boxes, (left, top, right, bottom) = drawing.boxes, drawing.page
    downwards = sorted(boxes, key=lambda box: box.top)
    found = [
        f"{one.text!r} ({one.what}) meets {other.text!r} ({other.what})"
        for index, one in enumerate(downwards)
        for other in takewhile(lambda below, one=one: below.top < one.bottom, downwards[index + 1 :])
        if one.meets(other)
    ]
    found += [
        f"{box.text!r} ({box.what}) leaves the page"
        for box in boxes
        if box.left < left - TOLERANCE
        or box.top < top - TOLERANCE
        or box.right > right + TOLERANCE
        or box.bottom > bottom + TOLERANCE
    ]
    return found
