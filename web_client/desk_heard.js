/**
 * What a student's instrument sends, as it is to sound at the desk: each note a fixed moment after it was played, by its
 * own stamp, so that a line that is now fast and now slow is not heard.
 *
 * Pure: times come in as numbers.
 *
 * @module desk_heard
 */

/** Seconds behind at which the notes may sound: by a good line, and by a bad one. */
export const BEHIND = Object.freeze([0.4, 1.2]);

/** A note that comes so many seconds too late to sound at its time is left out: out of place it would say something false. */
export const TOO_LATE = 0.03;

/** The softest that is heard of a note, 0..1. */
const SOFTEST = 0.15;

/** @typedef {{stop: (when: number) => void}} Voice */

/** The notes that sound. */
export class Heard {
  /** @param {(pitch: number, level: number, when: number) => Voice | null} strike sounds a note at a time of the page's clock */
  constructor(strike) {
    this.strike = strike;
    this.behind = BEHIND[0];
    /** How many came too late. */
    this.late = 0;
    /** @type {Map<string, {voice: Voice, pitch: number}>} by string, or by pitch where the instrument does not tell it */
    this.voices = new Map();
  }

  /**
   * @param {{stamp: number, data: number[], string: number | null}} sounded its stamp on the page's clock
   * @param {number} now on the same clock
   */
  take({ stamp, data, string }, now) {
    const [kind, pitch, velocity] = [data[0] & 0xf0, data[1], data[2]];
    const when = stamp + this.behind;
    const place = string === null ? `pitch ${pitch}` : `string ${string}`;
    if (kind === 0x90 && velocity > 0) {
      this.#end(place, when, now);
      if (when < now - TOO_LATE) {
        this.late += 1;
        return;
      }
      const voice = this.strike(pitch, SOFTEST + ((1 - SOFTEST) * velocity) / 127, when);
      if (voice !== null) {
        this.voices.set(place, { voice, pitch });
      }
    } else if ((kind === 0x80 || kind === 0x90) && this.voices.get(place)?.pitch === pitch) {
      this.#end(place, when, now);
    }
  }

  /**
   * Has all fall silent.
   *
   * @param {number} now on the page's clock
   */
  quiet(now) {
    for (const place of [...this.voices.keys()]) {
      this.#end(place, now, now);
    }
    this.late = 0;
  }

  /**
   * @param {string} place
   * @param {number} when
   * @param {number} now
   */
  #end(place, when, now) {
    this.voices.get(place)?.voice.stop(Math.max(when, now));
    this.voices.delete(place);
  }
}
