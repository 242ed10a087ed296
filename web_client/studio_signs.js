/**
 * A small drawn sign of the studio: a slip of paper at a measure to which words are pinned.
 *
 * @module studio_signs
 */

import { drawn } from "./dom.js";
import { linesOf } from "./staff.js";
import { STUDIO } from "./studio_english.js";

/** In a square of twelve. */
const SLIP = "M2 1.5h5.5L10 4v6.5H2zM7.5 1.5V4H10M3.8 6h4.4M3.8 8.2h3";

/**
 * Draws a slip at each measure to which words are pinned, in place of those before.
 *
 * @param {SVGSVGElement | null} svg the sheet
 * @param {{measure: number, words: string}[]} pins
 */
export function drawSlips(svg, pins) {
  for (const old of svg?.querySelectorAll(".studio-slip") ?? []) {
    old.remove();
  }
  /** @type {Map<number, string[]>} */
  const words = new Map();
  for (const pin of pins) {
    words.set(pin.measure, [...(words.get(pin.measure) ?? []), pin.words]);
  }
  for (const [measure, said] of words) {
    const group = svg?.querySelector(`#${CSS.escape(`m${measure}`)}`);
    const lines = group ? linesOf(group) : [];
    if (group && lines.length > 1) {
      const gap = lines[1].y - lines[0].y;
      const size = gap * 1.15;
      // At the end of the measure: the sign of an edit stands at its beginning.
      const place = `translate(${lines[0].right - size * 1.1} ${lines[0].y - gap * 1.75}) scale(${size / 12})`;
      const title = drawn("title", {}, STUDIO.pins.sign(said.join(" · ")));
      group.append(drawn("g", { class: "studio-slip", transform: place }, title, drawn("path", { d: SLIP })));
    }
  }
}
