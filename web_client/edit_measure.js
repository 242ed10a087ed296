/**
 * A measure of a solo as it is edited: its places, what stands there, and what may be written.
 *
 * Positions stay the exact fractions of a quarter that the arrangement has, as text.
 *
 * Pure: no document.
 *
 * @module edit_measure
 */

import { pitchAt } from "./neck.js";
import { fraction } from "./written.js";

/**
 * @typedef {{id: string, at: string, length: string, string: number, fret: number, pitch: number,
 *   finger: "T" | "I" | "M" | null, role: string, technique: "pick" | "slide" | "hammer-on" | "pull-off",
 *   from_fret?: number | null, left?: number | null}} Pluck
 *
 * @typedef {{at: string, length: string, pitch: number, lyric: string | null, kept: boolean, pluck: string | null,
 *   moved?: string | null}} MelodyNote
 *
 * @typedef {{number: number, source_measure: number, same_as?: number | null, meter: string, length: string,
 *   tier: string, slot?: string | null, chords: {at: string, symbol: string}[], melody: MelodyNote[],
 *   plucks: Pluck[]}} Measure
 *
 * @typedef {{string: number, fret: number, finger: "T" | "I" | "M" | null, technique: Pluck["technique"],
 *   from_fret: number | null}} Written
 * A pluck as it goes to the service.
 *
 * @typedef {{at: string, string: number}} Spot
 */

/** The highest fret. */
export const HIGHEST = 22;

/** @param {string} text `"3/2"` */
function parts(text) {
  const [over, under = "1"] = text.split("/");
  return [Number(over), Number(under)];
}

/**
 * @param {number} a
 * @param {number} b
 * @returns {number} what divides both
 */
function divisor(a, b) {
  return b === 0 ? a : divisor(b, a % b);
}

/**
 * The positions of a measure, in order: every slot, and wherever else a string is plucked.
 *
 * @param {Measure} measure
 * @param {string} slot of the solo's grid, in quarters
 * @param {boolean} between whether the places between two slots are wanted too, where slurs land
 * @returns {string[]} exact fractions
 */
export function positions(measure, slot, between) {
  const [over, under] = parts(measure.slot ?? slot);
  const step = between ? under * 2 : under;
  const found = new Set(measure.plucks.map((pluck) => pluck.at));
  for (let count = 0; (count * over) / step < fraction(measure.length); count += 1) {
    const common = divisor(count * over, step);
    const [top, bottom] = [(count * over) / common, step / common];
    found.add(bottom === 1 ? String(top) : `${top}/${bottom}`);
  }
  return [...found].sort((a, b) => fraction(a) - fraction(b));
}

/**
 * What stands at a place.
 *
 * @param {Measure} measure
 * @param {Spot} spot
 * @returns {Pluck | null}
 */
export function pluckAt(measure, { at, string }) {
  return measure.plucks.find((pluck) => pluck.at === at && pluck.string === string) ?? null;
}

/**
 * The syllable that is sung to a pluck.
 *
 * @param {Measure} measure
 * @param {string} id of the pluck
 * @returns {string | null}
 */
export function syllable(measure, id) {
  return measure.melody.find((note) => note.pluck === id)?.lyric ?? null;
}

/**
 * A position by beats, as it is counted aloud; a pickup counts from its end.
 *
 * @param {Measure} measure
 * @param {string} at
 * @returns {[beat: number, share: number, compound: boolean]} `beat` from 1; `share` of it that is past
 */
export function beatAt(measure, at) {
  const [count, unit] = parts(measure.meter);
  const compound = count % 3 === 0 && count > 3 && unit >= 8;
  const beat = (4 / unit) * (compound ? 3 : 1);
  const missing = measure.number === 0 ? Math.max(0, (4 * count) / unit - fraction(measure.length)) : 0;
  const beats = (fraction(at) + missing) / beat;
  const whole = Math.floor(beats + 1e-9);
  return [whole + 1, Math.max(0, beats - whole), compound];
}

/**
 * The finger that takes a string as a rule (common practice, no source): the thumb 5, 4 and 3, the index 2, the middle 1.
 *
 * @param {number} string
 * @returns {"T" | "I" | "M"}
 */
export function usualFinger(string) {
  return string === 1 ? "M" : string === 2 ? "I" : "T";
}

/**
 * The fret from which a slur to a place comes: of what sounded on its string last.
 *
 * @param {Measure} measure
 * @param {Spot} spot
 * @returns {number} 0 where the string has not sounded in this measure
 */
export function cameFrom(measure, { at, string }) {
  const before = measure.plucks.filter((pluck) => pluck.string === string && fraction(pluck.at) < fraction(at));
  return before.at(-1)?.fret ?? 0;
}

/**
 * What is wrong with a pluck, as far as its places tell; the service sees to the rest.
 *
 * @param {Written} written
 * @returns {"" | "noFret" | "noShort" | "noFrom" | "noMove" | "noHammer" | "noPull"}
 */
export function wrongOf(written) {
  const { string, fret, technique, from_fret } = written;
  const isFret = (/** @type {number} */ one) => Number.isInteger(one) && one >= 0 && one <= HIGHEST;
  const isThere = (/** @type {number} */ one) => string !== 5 || one === 0 || one > 5;
  if (!isFret(fret)) {
    return "noFret";
  }
  if (technique !== "pick" && (from_fret === null || !isFret(from_fret))) {
    return "noFrom";
  }
  if (!isThere(fret) || (from_fret !== null && !isThere(from_fret))) {
    return "noShort";
  }
  if (technique === "pick" || from_fret === null) {
    return "";
  }
  if (from_fret === fret) {
    return "noMove";
  }
  if (technique === "hammer-on" && from_fret > fret) {
    return "noHammer";
  }
  return technique === "pull-off" && from_fret < fret ? "noPull" : "";
}

/**
 * Whether a pluck stands like this already.
 *
 * @param {Pluck} pluck
 * @param {Written} written
 */
export function isAs(pluck, written) {
  return (
    pluck.string === written.string &&
    pluck.fret === written.fret &&
    pluck.finger === written.finger &&
    pluck.technique === written.technique &&
    (pluck.from_fret ?? null) === written.from_fret
  );
}

/**
 * The pitch that a place sounds.
 *
 * @param {{capo: number, tuning: {strings: Record<string, number>}}} arrangement
 * @param {number} string
 * @param {number} fret
 * @returns {number} MIDI
 */
export function pitchOf({ capo, tuning }, string, fret) {
  return pitchAt(tuning.strings, capo, string, fret);
}

/**
 * Where another way through a measure sounds something else than what stands.
 *
 * @param {Measure} standing
 * @param {Measure} other
 * @returns {Pluck[]} of the other, in order
 */
export function differing(standing, other) {
  return other.plucks.filter((pluck) => {
    const was = pluckAt(standing, pluck);
    return was?.fret !== pluck.fret || was.technique !== pluck.technique;
  });
}
