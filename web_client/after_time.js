/**
 * Where in the sound of a take a place of its solo is.
 *
 * Pure: no document.
 *
 * @module after_time
 */

/** @typedef {import("./player.js").TakeCues} TakeCues */

/** Seconds before a place from which it is played, so that an early note is heard whole. */
export const BEFORE = 0.3;

/**
 * From when to when a measure goes.
 *
 * @param {TakeCues} take
 * @param {number} measure
 * @returns {{start: number, end: number} | null} seconds from position 0; null where the take does not reach it
 */
export function spanOf({ positions, length, end }, measure) {
  const index = positions.findIndex(([number]) => number === measure);
  if (index < 0 || positions[index][1] > end) {
    return null;
  }
  return { start: positions[index][1], end: positions[index + 1]?.[1] ?? Math.max(length, positions[index][1]) };
}

/**
 * What to play of a moment: from half a measure before it to half a measure behind it.
 *
 * @param {TakeCues} take
 * @param {number} measure
 * @param {number} share how far into the measure it is, 0..1
 * @returns {{from: number, to: number} | null} seconds from position 0; null where the take does not reach it
 */
export function momentSpan(take, measure, share) {
  const span = spanOf(take, measure);
  if (span === null) {
    return null;
  }
  const long = span.end - span.start;
  const at = span.start + share * long;
  return { from: Math.max(at - long / 2, -BEFORE), to: at + long / 2 };
}
