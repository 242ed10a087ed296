/**
 * Where things stand on the engraved sheet, read from its SVG.
 *
 * @module staff
 */

/**
 * The string lines of a measure's tab, the first string first.
 *
 * A line is drawn in pieces that leave the numbers free.
 *
 * @param {Element} measure
 * @returns {{y: number, left: number, right: number}[]} in the sheet's own units; empty when there is no tab
 */
export function linesOf(measure) {
  const staff = [...measure.querySelectorAll(":scope > .staff")].pop();
  /** @type {Map<number, {y: number, left: number, right: number}>} */
  const lines = new Map();
  for (const piece of staff?.querySelectorAll(":scope > path") ?? []) {
    const [x1, y1, x2, y2] = (piece.getAttribute("d") ?? "").split(/[ML ,]+/).filter(Boolean).map(Number);
    if (y1 === y2) {
      const line = lines.get(y1) ?? { y: y1, left: x1, right: x2 };
      lines.set(y1, { y: y1, left: Math.min(line.left, x1), right: Math.max(line.right, x2) });
    }
  }
  return [...lines.values()].sort((a, b) => a.y - b.y);
}

/**
 * How long a pixel of the screen is in the units in which a part of the sheet is written.
 *
 * @param {SVGGraphicsElement} part
 * @returns {number} 0 where it is not on the screen
 */
export function unitOf(part) {
  const scale = part.getScreenCTM()?.a ?? 0;
  return scale > 0 ? 1 / scale : 0;
}
