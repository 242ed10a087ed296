/**
 * Small drawn signs of the studio: a slip of paper at a measure to which words are pinned, an ear while somebody listens.
 *
 * @module studio_signs
 */

import { drawn } from "./dom.js";
import { linesOf } from "./staff.js";
import { STUDIO } from "./studio_english.js";

/** Each in a square of twelve. */
const PATHS = Object.freeze({
  slip: "M2 1.5h5.5L10 4v6.5H2zM7.5 1.5V4H10M3.8 6h4.4M3.8 8.2h3",
  ear: "M3.2 5.2a2.9 2.9 0 1 1 5.6.9c-.5 1.3-1.7 1.5-1.9 3-.2 1.9-2.6 2-3 .4M4.9 5.2a1.2 1.2 0 1 1 2 .9",
});

/** @param {keyof typeof PATHS} sign */
export function slipPicture(sign) {
  return drawn(
    "svg",
    { class: "studio-sign", viewBox: "0 0 12 12", width: 16, height: 16, "aria-hidden": "true" },
    drawn("path", { d: PATHS[sign] }),
  );
}

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
      group.append(drawn("g", { class: "studio-slip", transform: place }, title, drawn("path", { d: PATHS.slip })));
    }
  }
}
