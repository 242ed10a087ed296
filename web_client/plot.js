/**
 * The picture of learning an instrument: a dot a note, across by clicks, up and down by how early or late it came.
 *
 * Pure: no document.
 *
 * @module plot
 */

/** The picture's own units. */
export const PLOT = Object.freeze({ width: 320, height: 150, left: 54, right: 8, top: 10, bottom: 20 });

/** Milliseconds by which the scale grows, and from which on its lines are farther apart. */
const STEP = 25;
const FEW_LINES = 4;

/**
 * @typedef {{ms: number, y: number}} Line a line of the scale
 * @typedef {{click: number, x: number, y: number}} Dot a note; `click` counts from 1
 * @typedef {{lines: Line[], dots: Dot[], without: {click: number, x: number}[], y: (ms: number) => number}} Plot
 */

/**
 * Where everything stands. Late notes stand higher.
 *
 * @param {(number | null)[]} offsets milliseconds after the click, null for a click without a note
 * @param {number} lag the offset that was found
 * @returns {Plot}
 */
export function plotOf(offsets, lag) {
  const there = offsets.filter((offset) => offset !== null);
  const values = [0, lag, .../** @type {number[]} */ (there)];
  const lowest = STEP * Math.floor(Math.min(...values) / STEP);
  const highest = Math.max(STEP * Math.ceil(Math.max(...values) / STEP), lowest + STEP);
  const high = PLOT.height - PLOT.top - PLOT.bottom;
  const y = (/** @type {number} */ ms) => PLOT.top + (high * (highest - ms)) / (highest - lowest);
  const gap = STEP * Math.ceil((highest - lowest) / STEP / FEW_LINES);
  const lines = [];
  for (let ms = gap * Math.ceil(lowest / gap); ms <= highest; ms += gap) {
    lines.push({ ms, y: y(ms) });
  }
  const wide = (PLOT.width - PLOT.left - PLOT.right) / offsets.length;
  const x = (/** @type {number} */ index) => PLOT.left + wide * (index + 0.5);
  return {
    lines,
    dots: offsets.flatMap((ms, index) => (ms === null ? [] : [{ click: index + 1, x: x(index), y: y(ms) }])),
    without: offsets.flatMap((ms, index) => (ms === null ? [{ click: index + 1, x: x(index) }] : [])),
    y,
  };
}
