/**
 * The page's clock, and the bridge from the audio clock to it.
 *
 * The page's clock is `performance.now()` in seconds. The audio clock counts frames; what it plays is heard later.
 * `getOutputTimestamp()` pairs the two where the sound leaves the machine; single readings scatter by a fraction of
 * a millisecond, so the median of the last ones is used.
 *
 * @module clock
 */

import { SCATTER } from "./schedule.js";

/**
 * The page's clock.
 *
 * @returns {number} seconds
 */
export function now() {
  return performance.now() / 1000;
}

/** How many readings the median is taken of, and how few are enough. */
const READINGS = 31;
const ENOUGH = 5;

/** Seconds by which the median of guesses scatters: they go by the audio clock as the page sees it, buffer by buffer. */
const GUESSED = 0.003;

/** Where audio time 0 is heard, on the page's clock. */
export class AudioBridge {
  constructor() {
    /** @type {number[]} seconds; the latest last */
    this.readings = [];
    this.lastFrame = -1;
    /** Whether the browser pairs the clocks. */
    this.paired = false;
  }

  /**
   * Takes one reading. One that stands still (the sound has not begun to run) says nothing and is left out.
   *
   * @param {{contextTime?: number, performanceTime?: number}} stamp seconds on the audio clock, and the moment (ms)
   *   at which that is heard
   * @returns {boolean} whether it said anything
   */
  read(stamp) {
    const frame = stamp.contextTime ?? 0;
    if (frame <= 0 || frame === this.lastFrame) {
      return false;
    }
    if (!this.paired) {
      this.paired = true;
      this.readings = [];
    }
    this.lastFrame = frame;
    this.#take((stamp.performanceTime ?? 0) / 1000 - frame);
    return true;
  }

  /**
   * Takes a guess in place of a reading, for a browser that gives none.
   *
   * @param {number} page the page's clock now, in seconds
   * @param {number} audio the audio clock now, in seconds
   * @param {number} latency seconds from there to the ear, as far as the browser knows
   */
  guess(page, audio, latency) {
    this.#take(page - audio + latency);
  }

  /** Seconds by which the offset scatters. */
  get scatter() {
    return this.paired ? SCATTER : GUESSED;
  }

  /** @param {number} offset */
  #take(offset) {
    this.readings.push(offset);
    if (this.readings.length > READINGS) {
      this.readings.shift();
    }
  }

  /** Whether there are readings enough to say where a sound is heard. */
  get ready() {
    return this.readings.length >= ENOUGH;
  }

  /**
   * Seconds to add to a time on the audio clock to have the moment on the page's clock at which it is heard.
   *
   * @returns {number}
   */
  get offset() {
    const sorted = [...this.readings].sort((a, b) => a - b);
    const middle = sorted.length >> 1;
    return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
  }
}
