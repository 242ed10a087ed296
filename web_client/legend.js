/**
 * The legend: every pencil mark beside a number of the tab, drawn by the same hand as on the sheet.
 *
 * @module legend
 */

import { drawn, element } from "./dom.js";
import { markOf, markOfExtra } from "./marks.js";
import { TEXT } from "./english.js";

/** @typedef {import("./marks.js").Drawing} Drawing */

const PLACE = { x: 30, y: 24, size: 13, gap: 13, string: 2 };

const SHOWN = /** @type {const} */ ([
  ["early", null, null],
  ["late", null, null],
  ["missed", null, null],
  ["wrong note", 2, "3"],
  ["other string", 3, "4"],
]);

/**
 * Draws a mark into a group of the sheet or the legend.
 *
 * @param {Drawing} drawing
 * @param {SVGElement} group
 */
export function pencil(drawing, group) {
  for (const path of drawing.lines) {
    group.append(drawn("path", { d: path }));
  }
  if (drawing.text) {
    const { x, y, size, words } = drawing.text;
    group.append(drawn("text", { x, y: y + size / 3, "font-size": `${size}px` }, words));
  }
  if (drawing.dot) {
    const { x, y, r, hollow } = drawing.dot;
    group.append(drawn("ellipse", { cx: x, cy: y, rx: r, ry: r * 1.1, class: hollow ? "hollow" : "full" }));
  }
}

/**
 * Fills the list of the legend.
 *
 * @param {HTMLElement} list
 */
export function showLegend(list) {
  for (const [verdict, string, played] of SHOWN) {
    const drawing = markOf({ verdict, offset_ms: null, string, played }, PLACE, verdict);
    list.append(line(drawing, "2", TEXT.legend[verdict]));
  }
  for (const fault of [true, false]) {
    const extra = markOfExtra({ x: PLACE.x, top: 11, size: PLACE.gap, fault });
    list.append(line(extra, "", fault ? TEXT.legend.extra : TEXT.legend.harmless));
  }
  list.append(line(null, "2", TEXT.legend["on time"]));
}

/**
 * @param {Drawing | null} drawing
 * @param {string} number
 * @param {string} words
 */
function line(drawing, number, words) {
  const strings = [11, 24, 37].map((y) =>
    drawn("path", { class: "string", d: y === PLACE.y && number !== "" ? `M2 ${y}H24M36 ${y}H58` : `M2 ${y}H58` }),
  );
  const written = drawn("text", { x: PLACE.x, y: PLACE.y + 4.4, class: "written", "font-size": "13px" }, number);
  const group = drawn("g", { class: "mark" });
  if (drawing !== null) {
    pencil(drawing, group);
  }
  const picture = drawn("svg", { viewBox: "0 0 60 46", width: 60, height: 46, "aria-hidden": "true" });
  picture.append(...strings, written, drawn("g", { class: "pencil" }, group));
  return element("li", {}, picture, element("span", {}, words));
}
