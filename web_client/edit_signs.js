/**
 * Small drawn signs of measures that are locked (a pin) or edited by hand (a pencil), on strip and sheet.
 *
 * @module edit_signs
 */

import { drawn } from "./dom.js";
import { linesOf } from "./staff.js";
import { TEXT } from "./english.js";

/** @typedef {"locked" | "edited"} Sign */

/** Each in a square of twelve. */
const PATHS = Object.freeze({
  locked: "M4.5 1.2h3l-.4 3.6 2.4 2.4h-7l2.4-2.4zM6 7.4v4",
  edited: "M2 10l.7-2.9 6-6 2.2 2.2-6 6zM7.4 2.4l2.2 2.2",
});

/**
 * The sign of each measure that has one; a measure that is both is edited.
 *
 * @param {import("./messages.js").EditState | undefined} edits
 * @returns {Map<number, Sign>}
 */
export function signsOf(edits) {
  const both = /** @type {[number, Sign][]} */ ([
    ...(edits?.locked ?? []).map((number) => [number, "locked"]),
    ...(edits?.edited ?? []).map((number) => [number, "edited"]),
  ]);
  return new Map(both);
}

/**
 * @param {Sign} sign
 * @returns {SVGElement} a picture of its own; whoever shows it says in words what it means
 */
export function signPicture(sign) {
  return drawn(
    "svg",
    { class: "edit-sign", viewBox: "0 0 12 12", width: 12, height: 12, "aria-hidden": "true" },
    drawn("path", { d: PATHS[sign] }),
  );
}

/**
 * Draws the signs over the tab of their measures, in place of those before.
 *
 * @param {SVGSVGElement | null} svg the sheet
 * @param {Map<number, Sign>} signs
 */
export function drawSigns(svg, signs) {
  for (const old of svg?.querySelectorAll(".edit-sign") ?? []) {
    old.remove();
  }
  for (const [number, sign] of signs) {
    const group = svg?.querySelector(`#${CSS.escape(`m${number}`)}`);
    const lines = group ? linesOf(group) : [];
    if (group && lines.length > 1) {
      const gap = lines[1].y - lines[0].y;
      const size = gap * 0.95; // what a barline and the first number leave between them
      const place = `translate(${lines[0].left - gap * 0.1} ${lines[0].y - gap * 1.25}) scale(${size / 12})`;
      const title = drawn("title", {}, TEXT.edit.signs[sign]);
      group.append(drawn("g", { class: "edit-sign", transform: place, "data-sign": sign }, title, drawn("path", { d: PATHS[sign] })));
    }
  }
}
