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

/** Seconds by which two clocks may seem apart through the scatter of readings alone. */
export const SCATTER = 0.00025;

/**
 * Seconds by which cues are moved in each second at most. Clocks drift apart by less than a tenth of it (500 ppm is the
 * most that RFC 5905 allows, its MAXFREQ), and no ear hears it (a step of 2 ms; from memory, 6 ms are just noticed).
 */
export const FOLLOWED = 0.002;

/** So far apart, in seconds, clocks are not by drift: the sound goes out another way, and is put right at once. */
export const JUMP = 0.02;

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

/** Cues on the audio clock. */
export class Schedule {
  /**
   * @param {Cue[]} cues in any order
   * @param {number} zero where position 0 lies on the audio clock, in seconds
   * @param {number} rate frames a second
   */
  constructor(cues, zero, rate) {
    this.cues = [...cues].sort((a, b) => a[0] - b[0]);
    this.zero = zero;
    this.rate = rate;
    this.index = 0;
    this.leftOut = 0;
    this.last = -Infinity; // where the cue before lies
    this.followed = /** @type {number | null} */ (null);
  }

  /** Whether all cues have been handed over. */
  get done() {
    return this.index >= this.cues.length;
  }

  /**
   * Goes along with another clock: the audio clock drifts against it, and the way from there to the ear may change.
   *
   * @param {number} time the audio clock now, in seconds
   * @param {number} wanted where position 0 is to lie on the audio clock, by the other one
   * @param {number} [scatter] seconds by which `wanted` scatters
   * @returns {boolean} whether it had to jump
   */
  follow(time, wanted, scatter = SCATTER) {
    const since = this.followed === null ? 0 : Math.max(0, time - this.followed);
    const apart = wanted - this.zero;
    this.followed = time;
    if (Math.abs(apart) > JUMP) {
      this.zero = wanted;
      return true;
    }
    const due = Math.sign(apart) * Math.max(0, Math.abs(apart) - scatter);
    this.zero += Math.min(FOLLOWED * since, Math.max(-FOLLOWED * since, due));
    return false;
  }

  /**
   * The cues that sound before `time + LOOK_AHEAD` and were not given yet.
   *
   * @param {number} time the audio clock now, in seconds
   * @returns {{when: number, cue: Cue}[]} each with its time on the audio clock: on a frame, or `time` itself where
   *   that has just passed; never before the one that was given before
   */
  due(time) {
    const due = [];
    while (!this.done) {
      const cue = this.cues[this.index];
      const when = Math.max(roundToFrame(this.zero + cue[0], this.rate), this.last);
      if (when >= time + LOOK_AHEAD) {
        break;
      }
      this.index += 1;
      if (when < time - TOO_LATE) {
        this.leftOut += 1;
      } else {
        this.last = Math.max(when, time);
        due.push({ when: this.last, cue });
      }
    }
    return due;
  }
}
