/**
 * Scales of pictures: where a value stands, and which values are written at an axis.
 *
 * Pure: no document.
 *
 * @module progress_scale
 */

/** Steps between lines that can be read off, in quarters a minute. */
const TEMPO_STEPS = Object.freeze([5, 10, 20, 25, 50, 100, 200]);

/** Steps between lines that can be read off, in minutes. */
const MINUTE_STEPS = Object.freeze([5, 10, 15, 30, 60, 120, 300, 600, 1200, 3000]);

/**
 * @typedef {{low: number, high: number, lines: number[]}} Scale ends, and the values of the lines between and on them
 */

/**
 * A straight scale.
 *
 * @param {{low: number, high: number}} scale with `low` below `high`
 * @param {number} start where `low` stands
 * @param {number} end where `high` stands
 * @returns {(value: number) => number}
 */
export function along({ low, high }, start, end) {
  return (value) => start + ((end - start) * (value - low)) / (high - low);
}

/**
 * @param {number} low
 * @param {number} high not below `low`
 * @param {readonly number[]} steps
 * @param {number} most spaces between lines
 * @returns {Scale} on whole steps, with room for both values, and never of no length
 */
function scaleOf(low, high, steps, most) {
  const fits = (/** @type {number} */ step) => Math.ceil(high / step) - Math.floor(low / step) <= most;
  const step = steps.find(fits) ?? steps[steps.length - 1];
  const from = Math.floor(low / step);
  const to = Math.max(Math.ceil(high / step), from + 1);
  const lines = Array.from({ length: to - from + 1 }, (_, index) => (from + index) * step);
  return { low: from * step, high: to * step, lines };
}

/**
 * A scale of tempos. It begins where the values begin, so it is for places, not for lengths.
 *
 * @param {number[]} tempos at least one
 * @param {number} [most] spaces between lines
 */
export function tempoScale(tempos, most = 6) {
  return scaleOf(Math.min(...tempos), Math.max(...tempos), TEMPO_STEPS, most);
}

/**
 * A scale of minutes from nothing on, so that lengths can be compared.
 *
 * @param {number} longest
 * @param {number} [most] spaces between lines
 */
export function minuteScale(longest, most = 4) {
  return scaleOf(0, longest, MINUTE_STEPS, most);
}
