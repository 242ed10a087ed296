/**
 * A measure of a solo as cues, so that it is heard before it stands on the sheet.
 *
 * Pure. Levels and lengths are those of the solo that the service lets sound (`coach/service/accompany.py`), in the time of
 * `coach/tempo.py`.
 *
 * @module edit_cues
 */

import { beatAt } from "./edit_measure.js";
import { bent } from "./moving.js";
import { fraction } from "./written.js";

/** @typedef {import("./edit_measure.js").Measure} Measure */
/** @typedef {import("./messages.js").Cue} Cue */

/** Seconds after which a string has died away. */
const RING = 2;

/** How loud a note is beside one of the melody, and a slurred one beside one that is picked. */
const [FILL, SLURRED] = [0.65, 0.7];

/**
 * What sounds in a measure.
 *
 * @param {Measure} measure
 * @param {{slot: string, tempo: number, bounce: number}} how slot of the solo's grid; quarters a minute; where the second
 *   of two slots falls, in percent of both
 * @returns {Cue[]} in seconds from the start of the measure, in order
 */
export function cuesOf(measure, { slot, tempo, bounce }) {
  const pair = 2 * fraction(slot);
  const length = fraction(measure.length);
  const lead = measure.number === 0 ? (pair - (length % pair)) % pair : 0;
  const [, , compound] = beatAt(measure, "0");
  const percent = compound ? 50 : bounce;
  const heard = (/** @type {number} */ at) =>
    ((bent(at + lead, pair, percent) - bent(lead, pair, percent)) * 60) / tempo;
  /** @type {Map<number, number>} by string: when it is sounded again */
  const again = new Map();
  /** @type {Cue[]} */
  const cues = [];
  for (const { at, string, pitch, role, technique } of [...measure.plucks].reverse()) {
    const seconds = heard(fraction(at));
    const until = Math.min(seconds + RING, again.get(string) ?? Infinity);
    again.set(string, seconds);
    const level = (role === "melody" ? 1 : FILL) * (technique === "pick" ? 1 : SLURRED);
    cues.unshift([seconds, "banjo", pitch, until - seconds, level]);
  }
  return cues;
}
