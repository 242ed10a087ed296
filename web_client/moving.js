/**
 * Where a pass is: the measure that sounds, the beat of the count-in.
 *
 * Pure: seconds are counted from position 0 of the pass, as it is heard.
 *
 * @module moving
 */

/** @typedef {import("./messages.js").Begin} Begin */

/**
 * The measure that sounds.
 *
 * @param {[number, number][]} positions [measure number, seconds of its start], in order
 * @param {number} seconds from position 0
 * @param {number} length seconds from position 0 to the end of the pass
 * @returns {number | null} null before position 0 and after the end
 */
export function measureAt(positions, seconds, length) {
  if (seconds < 0 || seconds >= length) {
    return null;
  }
  let sounding = null;
  for (const [measure, start] of positions) {
    if (start > seconds + 1e-9) {
      break;
    }
    sounding = measure;
  }
  return sounding;
}

/** Of the loudest click: what is softer is a light click between beats. */
const LIGHT = 0.6;

/**
 * The beat of the count-in that sounded last.
 *
 * @param {Begin} begin
 * @param {number} seconds from position 0, below 0
 * @returns {number} counted from 1, anew in each measure; 0 before the first
 */
export function countAt(begin, seconds) {
  const clicks = begin.cues.filter(([at, voice]) => at < 0 && (voice === "click" || voice === "accent"));
  const loudest = Math.max(...clicks.map((cue) => cue[4]));
  let beat = 0;
  for (const [at, voice, , , level] of clicks) {
    if (at <= seconds && (voice === "accent" || level >= LIGHT * loudest)) {
      beat = voice === "accent" ? 1 : beat + 1;
    }
  }
  return beat;
}
