/**
 * Where a pass is: the measure that sounds, the place in it, the measure ahead, the beat of the count-in.
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

/**
 * The measure that sounds, the one ahead, and how much of the first has sounded.
 *
 * @param {[number, number][]} positions [measure number, seconds of its start], in order
 * @param {number} seconds from position 0
 * @param {number} length seconds from position 0 to the end of the pass
 * @returns {{measure: number, next: number | null, share: number} | null} `share` in 0..1; null before position 0 and
 *   after the end
 */
export function placeAt(positions, seconds, length) {
  if (measureAt(positions, seconds, length) === null) {
    return null;
  }
  const after = positions.findIndex(([, start]) => start > seconds + 1e-9);
  const at = (after < 0 ? positions.length : after) - 1;
  const [[measure, start], [next, end]] = [positions[at], positions[at + 1] ?? [null, length]];
  return { measure, next, share: Math.min(1, Math.max(0, (seconds - start) / (end - start))) };
}

/** Where the second of two slots falls in even time. */
const STRAIGHT = 0.5;

/**
 * Where a written place falls in heard time, in quarters of even time: pairs of slots are bent.
 *
 * @param {number} at quarters from the start of a pair
 * @param {number} pair the length of a pair of slots, in quarters
 * @param {number} bounce where the second slot of a pair falls, in percent of the pair (50 is even)
 * @returns {number}
 */
export function bent(at, pair, bounce) {
  const middle = bounce / 100;
  const [pairs, rest] = [Math.floor(at / pair + 1e-9), Math.max(0, at / pair - Math.floor(at / pair + 1e-9))];
  const share = rest < STRAIGHT ? rest * 2 * middle : middle + (rest - STRAIGHT) * 2 * (1 - middle);
  return (pairs + share) * pair;
}

/**
 * The written place in a measure of which a share of the time has sounded.
 *
 * The pairs of slots that a bounce bends are counted from the start of the measure, in a pickup from its end. This is
 * what `coach/tempo.py` does the other way.
 *
 * @param {number} share of the measure's time, 0..1
 * @param {{length: number, pair: number, bounce: number, pickup: boolean}} measure its length and that of a pair of
 *   slots in quarters, the bounce in percent of the pair (50 is even)
 * @returns {number} quarters from its start
 */
export function writtenAt(share, { length, pair, bounce, pickup }) {
  const middle = bounce / 100;
  const lead = pickup ? (pair - (length % pair)) % pair : 0; // of the first pair, what lies before the measure
  const [from, to] = [bent(lead, pair, bounce), bent(lead + length, pair, bounce)];
  const at = from + share * (to - from);
  const [pairs, rest] = [Math.floor(at / pair + 1e-9), Math.max(0, at / pair - Math.floor(at / pair + 1e-9))];
  const straight = rest < middle ? rest / (2 * middle) : STRAIGHT + (rest - middle) / (2 * (1 - middle));
  return (pairs + straight) * pair - lead;
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
