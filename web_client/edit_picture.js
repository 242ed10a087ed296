/**
 * The small tab of a measure as a picture.
 *
 * @module edit_picture
 */

import { drawn } from "./dom.js";
import { LETTER } from "./edit_drawing.js";

/** @typedef {import("./edit_drawing.js").SmallTab} SmallTab */
/** @typedef {import("./edit_drawing.js").Letter} Letter */

/**
 * Draws it.
 *
 * @param {SmallTab} tab
 * @param {string} label what it shows; empty where others tell it
 * @returns {SVGElement}
 */
export function pictureOf(tab, label) {
  const { width, height, lines, left, right } = tab;
  /** @type {Record<string, string>} */
  const told = label === "" ? { "aria-hidden": "true" } : { role: "img", "aria-label": label };
  const picture = drawn("svg", { class: "small-tab", viewBox: `0 0 ${width} ${height}`, ...told });
  picture.append(
    ...tab.patches.map(({ x, y }) =>
      drawn("rect", { class: "patch", x: x - tab.patch / 2, y: y - tab.patch / 2, width: tab.patch, height: tab.patch, rx: 3 }),
    ),
    drawn("path", {
      class: "strings",
      d: [...lines.map((y) => `M${left} ${y}H${right}`), `M${left} ${lines[0]}V${lines[4]}M${right} ${lines[0]}V${lines[4]}`].join(""),
    }),
    ...tab.slurs.map((d) => drawn("path", { class: "slur", d })),
    ...tab.wedges.map((d) => drawn("path", { class: "wedge", d })),
    ...tab.numbers.map((letter) =>
      text(letter, `number${letter.melody ? " melody" : ""}${letter.marked ? " marked" : ""}`),
    ),
    ...tab.slurLetters.map((letter) => text(letter, "slur-letter", LETTER * 0.85)),
    ...tab.fingers.map((letter) => text(letter, "finger", LETTER * 0.9)),
    ...tab.chords.map((letter) => text(letter, "chord")),
    ...tab.words.map((letter) => text(letter, "sung", LETTER * 0.95)),
  );
  return picture;
}

/**
 * @param {Letter} letter
 * @param {string} kind
 * @param {number} [size]
 */
function text({ x, y, words }, kind, size = LETTER) {
  return drawn("text", { class: kind, x, y: y + size * 0.34, "font-size": size }, words);
}
