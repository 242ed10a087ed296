/**
 * Pictures as plain values: parts to be drawn, words for those who do not see them, and the same facts as a table.
 *
 * Pure: no document.
 *
 * @module progress_picture
 */

import { written } from "./progress_days.js";
import { WORDS } from "./english.js";
import { TIERS } from "./tiers.js";

/**
 * @typedef {import("./tiers.js").Tier} Tier
 *
 * @typedef {object} Part an SVG element
 * @property {string} tag
 * @property {Record<string, string | number>} set its attributes
 * @property {string} [words] what it says, of a text
 * @property {string} [told] what it is, in words, under the pointer
 *
 * @typedef {{head: string[], rows: string[][]}} Table the first column names the rows; where it is a time, the newest
 *   comes first
 *
 * @typedef {object} Picture
 * @property {number} width pixels
 * @property {number} height
 * @property {string} title
 * @property {string} desc what it shows, in words
 * @property {Part[]} parts in the order in which they are drawn
 * @property {{parts: Part[], words: string}[]} key what its marks mean; each drawn in a square of `KEY` pixels
 * @property {Table} table
 *
 * @typedef {object} ClimbLine
 * @property {string} day
 * @property {Tier} tier
 * @property {number} low
 * @property {number} high
 * @property {number | null} fastest_clean
 * @property {number} passes
 *
 * @typedef {object} PassLine
 * @property {string} began
 * @property {number} tempo
 * @property {Tier} tier
 * @property {number[]} mix the measures that were of the next tier
 * @property {string} kind
 * @property {string} judged heard, marked (by the player) or freely (heard without a click)
 * @property {boolean} clean
 * @property {boolean} whole
 * @property {Record<string, boolean>} measures
 *
 * @typedef {object} ReadyLine
 * @property {number} measure
 * @property {Tier} tier
 * @property {number} tempo
 * @property {number} low
 * @property {number} high
 * @property {number} passes
 *
 * @typedef {{day: string, minutes: number, tunes: Record<string, number>}} DayLine
 * @typedef {{id: string, title: string, passes: number, minutes: number, last: string}} TunePlayed
 *
 * @typedef {object} Progress what the service answers, format progress/1
 * @property {string} player
 * @property {string} tune
 * @property {string} title
 * @property {number | null} goal
 * @property {TunePlayed[]} tunes
 * @property {DayLine[]} days
 * @property {ClimbLine[]} climb
 * @property {PassLine[]} passes
 * @property {number[]} measures
 * @property {ReadyLine[]} ready
 */

/** The side of the square in which a mark of the key is drawn. */
export const KEY = 18;

/**
 * @param {string} tag
 * @param {Record<string, string | number>} set
 * @param {{words?: string, told?: string}} [more]
 * @returns {Part}
 */
export function part(tag, set, more = {}) {
  return { tag, set, ...more };
}

/**
 * A straight line.
 *
 * @param {string} className
 * @param {number} x1
 * @param {number} y1
 * @param {number} x2
 * @param {number} y2
 */
export function line(className, x1, y1, x2, y2) {
  return part("line", { class: className, x1, y1, x2, y2 });
}

/**
 * @param {string} words
 * @param {number} x
 * @param {number} y of the line it stands on
 * @param {"start" | "middle" | "end"} [anchor]
 * @param {string} [className]
 */
export function label(words, x, y, anchor = "start", className = "label") {
  return part("text", { class: className, x, y, "text-anchor": anchor }, { words });
}

/** @type {Record<Tier, (x: number, y: number, r: number) => string>} */
const SHAPES = {
  beginner: (x, y, r) => `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`,
  intermediate: (x, y, r) => `M${x} ${y - 1.3 * r}L${x + 1.3 * r} ${y}L${x} ${y + 1.3 * r}L${x - 1.3 * r} ${y}Z`,
  advanced: (x, y, r) => `M${x} ${y - 1.2 * r}L${x + 1.2 * r} ${y + 0.9 * r}H${x - 1.2 * r}Z`,
};

/**
 * The mark of a tier: a circle, a diamond, a triangle.
 *
 * @param {Tier} tier
 * @param {number} x of its middle
 * @param {number} y
 * @param {number} r about half its width
 * @param {boolean} full else it is hollow
 * @param {string} [told]
 * @returns {Part}
 */
export function mark(tier, x, y, r, full, told) {
  return part("path", { class: `mark ${tier} ${full ? "full" : "hollow"}`, d: SHAPES[tier](x, y, r) }, { told });
}

/**
 * The key of the tiers that are in a picture.
 *
 * @param {Iterable<Tier>} there
 * @returns {{parts: Part[], words: string}[]}
 */
export function tierKey(there) {
  const all = new Set(there);
  return TIERS.filter((tier) => all.has(tier)).map((tier) => ({
    parts: [mark(tier, KEY / 2, KEY / 2, 5, true)],
    words: WORDS.tier(tier),
  }));
}

/**
 * The axis of days below a picture.
 *
 * @param {import("./progress_days.js").Calendar} calendar
 * @param {number} left where the first stretch begins
 * @param {number} pitch pixels a stretch
 * @param {number} y of the axis
 * @returns {Part[]}
 */
export function dayAxis(calendar, left, pitch, y) {
  const right = left + pitch * calendar.stretches.length;
  const apart = calendar.unit === "day" ? 50 : 36;
  return [
    line("axis", left, y, right, y),
    ...written(calendar, pitch, apart).flatMap(({ index, day }) => {
      const x = left + pitch * (index + 0.5);
      const words = calendar.unit === "day" ? WORDS.date(day) : WORDS.month(day);
      return [line("axis", x, y, x, y + 4), label(words, x, y + 17, "middle")];
    }),
  ];
}
