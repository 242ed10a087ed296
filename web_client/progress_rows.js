/**
 * Rows, one a measure: two pictures beside each other have theirs at the same height.
 *
 * Pure: no document.
 *
 * @module progress_rows
 */

import { label, line } from "./progress_picture.js";

/** Room for the number of a measure. */
export const NUMBERS = 30;

/** Measures between two lines that lead the eye, as in a system; they are counted from measure 1, not from a pickup. */
const SYSTEM = 4;

/**
 * @typedef {object} Rows
 * @property {number} pitch pixels from a row to the next
 * @property {number} bottom under the last
 * @property {(measure: number) => number} y the middle of a measure's row
 * @property {number[]} measures from above
 */

/**
 * @param {number[]} measures at least one, in order
 * @param {number} top pixels above the first row
 * @returns {Rows}
 */
export function rowsOf(measures, top) {
  const pitch = measures.length <= 24 ? 18 : measures.length <= 40 ? 15 : 12;
  const at = new Map(measures.map((measure, index) => [measure, top + pitch * (index + 0.5)]));
  const y = (/** @type {number} */ measure) => /** @type {number} */ (at.get(measure));
  return { pitch, bottom: top + pitch * measures.length, y, measures };
}

/**
 * The numbers of the measures and the lines between the rows.
 *
 * @param {Rows} rows
 * @param {number} right where the rows end
 */
export function rowParts({ measures, pitch, bottom, y }, right) {
  const size = pitch < 14 ? "label small" : "label";
  return [
    ...measures
      .filter((measure, index) => index === 0 || measure % SYSTEM === 1)
      .map((measure) => line("grid", NUMBERS, y(measure) - pitch / 2, right, y(measure) - pitch / 2)),
    line("grid", NUMBERS, bottom, right, bottom),
    ...measures.map((measure) => label(String(measure), NUMBERS - 7, y(measure) + 4, "end", size)),
  ];
}
