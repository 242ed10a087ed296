/**
 * Cues that sound: tracks on the audio clock, each with a level of its own, kept where the page's clock wants them.
 *
 * @module playback
 */

import { now } from "./clock.js";
import { JUMP, Schedule, TICK, roundToFrame } from "./schedule.js";

/** @typedef {import("./messages.js").Cue} Cue */
/** @typedef {{cues: Cue[], gain: number, pan?: number}} Track `gain` 0..1, `pan` from -1 (left) to 1 */

/** Seconds between the decision to begin and the first sound. */
const MARGIN = 0.15;

/** Seconds in which a level comes to where it was set, and in which what is stopped dies away, so that nothing cracks. */
export const FADE = 0.03;

/** Several tracks that sound together, once. */
export class Playback {
  /**
   * @param {import("./sound.js").Sound} sound which can sound by now
   * @param {Record<string, Track>} tracks by name
   * @param {{origin?: number | null, from?: number, to?: number, onJump?: (seconds: number) => void}} how where on the
   *   page's clock position 0 is to be heard (null for as soon as can be), from which to which second of the cues, and
   *   what to do when the sound goes out another way all of a sudden: it comes so many seconds sooner, and was put right
   */
  constructor(sound, tracks, { origin = null, from = -Infinity, to = Infinity, onJump = () => {} } = {}) {
    this.sound = sound;
    this.context = sound.running;
    this.onJump = onJump;
    this.to = to;
    /** @type {Set<{stop: (when: number) => void}>} handed over and not ended */
    this.sounding = new Set();
    /** @type {Map<string, GainNode>} the level of each track */
    this.levels = new Map();
    /** @type {AudioNode[]} where the tracks go out */
    this.outs = [];
    this.latency = sound.latency;
    this.isOver = false;
    /** @type {Map<Cue, GainNode>} where each cue goes */
    this.ways = new Map();
    for (const [name, { cues, gain, pan = 0 }] of Object.entries(tracks)) {
      const level = this.#level(gain, pan);
      this.levels.set(name, level);
      for (const cue of cues) {
        if (cue[0] >= from && cue[0] < to) {
          this.ways.set(cue, level);
        }
      }
    }
    const cues = [...this.ways.keys()];
    const { offset } = sound.bridge;
    const first = Math.min(...cues.map(([at]) => at), Number.isFinite(from) ? from : 0);
    const zero = origin === null ? this.context.currentTime + MARGIN - first : origin - offset;
    this.schedule = new Schedule(cues, roundToFrame(zero, this.context.sampleRate), this.context.sampleRate);
    /** When position 0 is heard, in seconds on the page's clock, output latency included. */
    this.origin = origin ?? this.schedule.zero + offset;
    /** @type {(whole: boolean) => void} */
    this.end = () => {};
    /** @type {Promise<boolean>} whether it came to its end */
    this.ended = new Promise((end) => {
      this.end = end;
    });
    this.timer = window.setInterval(() => this.#look(), TICK * 1000);
    this.#look();
  }

  /** Seconds from position 0 that are heard now. */
  get at() {
    return now() - this.origin;
  }

  /**
   * @param {string} name of a track
   * @param {number} gain 0..1
   */
  setGain(name, gain) {
    this.levels.get(name)?.gain.setTargetAtTime(gain, this.context.currentTime, FADE);
  }

  /** Stops it: nothing more is handed over, and what was handed over dies away. */
  stop() {
    this.#over(false);
    for (const each of this.sounding) {
      each.stop(this.context.currentTime);
    }
  }

  #look() {
    const { context, schedule, sound } = this;
    const { bridge } = sound;
    sound.lookAtClocks();
    if (schedule.follow(context.currentTime, this.origin - bridge.offset, bridge.scatter)) {
      // An audio clock also jumps where a busy machine left it without sound for a moment: that is no other way.
      const sooner = this.latency - sound.latency;
      this.latency = sound.latency;
      if (Math.abs(sooner) > JUMP / 2) {
        this.onJump(sooner);
      }
    }
    for (const { when, cue } of schedule.due(context.currentTime)) {
      this.#hand(cue, when);
    }
    if (schedule.done && (Number.isFinite(this.to) ? this.at >= this.to : this.sounding.size === 0)) {
      this.#over(true);
    }
  }

  /**
   * @param {Cue} cue
   * @param {number} when
   */
  #hand(cue, when) {
    const way = /** @type {GainNode} */ (this.ways.get(cue));
    const sounding = this.sound.sound(cue, when, way, () => {
      if (sounding !== null) {
        this.sounding.delete(sounding);
        this.#letGo();
      }
    });
    if (sounding !== null) {
      this.sounding.add(sounding);
    }
  }

  /**
   * @param {number} gain
   * @param {number} pan
   */
  #level(gain, pan) {
    const level = new GainNode(this.context, { gain });
    const out = pan === 0 ? level : level.connect(new StereoPannerNode(this.context, { pan }));
    out.connect(this.sound.mixed);
    this.outs.push(out);
    return level;
  }

  /** Takes its tracks out of the mix, when it is over and the last sound has died away. */
  #letGo() {
    if (this.isOver && this.sounding.size === 0) {
      for (const out of this.outs) {
        out.disconnect();
      }
    }
  }

  /** @param {boolean} whole */
  #over(whole) {
    clearInterval(this.timer);
    this.isOver = true;
    this.#letGo();
    this.end(whole);
  }
}

/** @type {Record<string, "click" | "backing" | "solo">} */
const PARTS = { click: "click", accent: "click", bass: "backing", chop: "backing", banjo: "solo" };

/**
 * The tracks of a pass: one for each part.
 *
 * @param {Cue[]} cues
 * @param {Record<string, number>} levels of the parts, 0..1; one that is not named is as loud as can be
 * @returns {Record<string, Track>} by the names of the parts
 */
export function byPart(cues, levels) {
  const tracks = Object.fromEntries(
    ["click", "backing", "solo"].map((part) => [part, { cues: /** @type {Cue[]} */ ([]), gain: levels[part] ?? 1 }]),
  );
  for (const cue of cues) {
    tracks[PARTS[cue[1]]].cues.push(cue);
  }
  return tracks;
}
