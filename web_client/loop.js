/**
 * The brackets of a teacher's pencil round the measures that are practised alone.
 *
 * @module loop
 */

import { drawn } from "./dom.js";
import { linesOf } from "./staff.js";

/**
 * Draws them, and marks what lies outside; nothing where the whole tune is played.
 *
 * @param {SVGSVGElement} svg the sheet, on the page
 * @param {{number: number}[]} measures of the solo, in order
 * @param {number} first measure
 * @param {number} last measure
 */
export function drawLoop(svg, measures, first, last) {
  for (const drawing of svg.querySelectorAll(".loop")) {
    drawing.remove();
  }
  const numbers = measures.map(({ number }) => number);
  const part = numbers.some((number) => number > 0 && (number < first || number > last));
  const played = numbers.filter((number) => number >= first && number <= last);
  for (const number of numbers) {
    const group = svg.querySelector(`#${CSS.escape(`m${number}`)}`);
    group?.classList.toggle("outside", part && !played.includes(number));
    if (group && part && number === played[0]) {
      group.append(edge(group, "left"));
    }
    if (group && part && number === played[played.length - 1]) {
      group.append(edge(group, "right"));
    }
  }
}

/**
 * @param {Element} group of the measure
 * @param {"left" | "right"} side
 * @returns {SVGElement} a bracket that opens to the other side
 */
function edge(group, side) {
  const lines = linesOf(group);
  const gap = lines[1].y - lines[0].y;
  const [top, bottom] = [lines[0].y - gap * 1.1, lines[lines.length - 1].y + gap * 1.1];
  const inward = side === "left" ? gap : -gap;
  const x = lines[0][side] + inward * 0.25;
  return drawn("path", { class: "loop", d: `M${x + inward * 0.9} ${top}H${x}V${bottom}H${x + inward * 0.9}` });
}
