/**
 * The roll, note by note: its picture, the sentence that says the same, and its numbers.
 *
 * @module after_plot
 */

import { byId, drawn, element } from "./dom.js";
import { ROLL_PLOT, countsOf, extremes, rollPlotOf } from "./roll_plot.js";
import { TEXT } from "./english.js";

/** @typedef {import("./roll_plot.js").Position} Position */

/**
 * Shows how early or late each note of the roll came.
 *
 * @param {Position[]} positions empty where too few measures were in rolls
 * @param {any} arrangement
 */
export function showRoll(positions, arrangement) {
  byId("roll-part").hidden = positions.length === 0;
  if (positions.length === 0) {
    return;
  }
  const counts = countsOf(arrangement.meter, arrangement.slot);
  const named = (/** @type {number} */ slot) => TEXT.after.rollNote(slot, counts[slot - 1]);
  byId("roll-words").textContent = TEXT.after.roll(extremes(positions), named);
  byId("roll-plot").replaceChildren(picture(positions, counts));
  byId("roll-numbers").replaceChildren(
    ...positions.map(({ slot, offset_ms }) =>
      element(
        "tr",
        {},
        element("th", { scope: "row" }, String(slot)),
        element("td", {}, counts[slot - 1] ?? ""),
        element("td", {}, TEXT.after.rollAway(offset_ms)),
      ),
    ),
  );
}

/**
 * A stem for each note from the line of what is even: up where it is late, down where it is early.
 *
 * @param {Position[]} positions
 * @param {string[]} counts
 * @returns {SVGElement}
 */
function picture(positions, counts) {
  const { places, lines, middle } = rollPlotOf(positions);
  const { width, height, left, right } = ROLL_PLOT;
  return drawn(
    "svg",
    { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": TEXT.after.rollPicture(positions) },
    ...lines.flatMap(({ ms, y }) => [
      drawn("line", { class: ms === 0 ? "even" : "scale", x1: left, x2: width - right, y1: y, y2: y }),
      drawn("text", { class: "scale-words", x: left - 7, y: y + 4, "text-anchor": "end" }, TEXT.after.rollScale(ms)),
    ]),
    ...places.flatMap(({ slot, x, y }) => [
      drawn("line", { class: "stem", x1: x, x2: x, y1: middle, y2: y }),
      drawn("circle", { cx: x, cy: y, r: 4 }),
      drawn("text", { x, y: height - 17, "text-anchor": "middle" }, counts[slot - 1] ?? ""),
      drawn("text", { class: "scale-words", x, y: height - 3, "text-anchor": "middle" }, String(slot)),
    ]),
  );
}
