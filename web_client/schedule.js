/**
 * Which cues are to be handed to the audio clock now, and at which exact time each sounds.
 *
 * Pure: the time comes in as a number. A call may come late; the times it gives are exact.
 *
 * @module schedule
 */

/** @typedef {import("./messages.js").Cue} Cue */

/** Seconds ahead of the audio clock for which cues are handed over: more than a long pause of the page. */
export const LOOK_AHEAD = 0.2;

/** Seconds between two looks. */
export const TICK = 0.025;

/** A cue that comes later than this, in seconds, is left out: a click out of place is worse than none. */
export const TOO_LATE = 0.02;

/**
 * The nearest frame: a sound that starts between two frames would be interpolated, and blurred.
 *
 * @param {number} seconds on the audio clock
 * @param {number} rate frames a second
 * @returns {number} seconds
 */
export function roundToFrame(seconds, rate) {
  return Math.round(seconds * rate) / rate;
}

/** The cues of one pass on the audio clock. */
export class Schedule {
  /**
   * @param {Cue[]} cues in any order
   * @param {number} zero where position 0 of the pass lies on the audio clock, in seconds
   * @param {number} rate frames a second
   */
  constructor(cues, zero, rate) {
    this.cues = [...cues].sort((a, b) => a[0] - b[0]);
    this.zero = zero;
    this.rate = rate;
    this.index = 0;
    this.leftOut = 0;
  }

  /** Whether all cues have been handed over. */
  get done() {
    return this.index >= this.cues.length;
  }

  /**
   * The cues that sound before `time + LOOK_AHEAD` and were not given yet.
   *
   * @param {number} time the audio clock now, in seconds
   * @returns {{when: number, cue: Cue}[]} each with its time on the audio clock: on a frame, or `time` itself where
   *   that has just passed
   */
  due(time) {
    const due = [];
    while (!this.done) {
      const cue = this.cues[this.index];
      const when = roundToFrame(this.zero + cue[0], this.rate);
      if (when >= time + LOOK_AHEAD) {
        break;
      }
      this.index += 1;
      if (when < time - TOO_LATE) {
        this.leftOut += 1;
      } else {
        due.push({ when: Math.max(when, time), cue });
      }
    }
    return due;
  }
}
