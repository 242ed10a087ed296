/**
 * What the page sounds: the cues of a pass at exact times, and the pad.
 *
 * Browsers let a page sound only after the player has touched it, so everything waits for `turnOn`.
 *
 * @module sound
 */

import { AudioBridge, now } from "./clock.js";
import { LOOK_AHEAD, Schedule, TICK, roundToFrame } from "./schedule.js";

/** @typedef {import("./messages.js").Begin} Begin */
/** @typedef {{start: number, length: number, pitch: number | null}} Sample seconds within the bank; MIDI pitch */

/** Loudness of the page before the player has set it, 0..1: moderate. */
export const FIRST_LOUDNESS = 0.4;

/** Seconds between the decision to begin a pass and its first sound. */
const MARGIN = 0.15;

/** Looks at the audio clock after which a browser that pairs it with no other is taken at its word for the latency. */
const PATIENCE = 40;

/** Seconds in which a sound that is stopped dies away, so that it does not crack. */
const FADE = 0.03;

/** Voices that are cut when their cue ends; the others ring as long as their sample. */
const CUT = new Set(["bass", "chop"]);

/** The page's loudspeaker. */
export class Sound {
  /** @param {{loudness?: number}} options */
  constructor({ loudness = FIRST_LOUDNESS }) {
    this.loudness = loudness;
    /** @type {AudioContext | null} */
    this.context = null;
    /** @type {GainNode | null} */
    this.output = null;
    /** @type {AudioBuffer | null} */
    this.bank = null;
    /** @type {Map<string, Sample[]>} by voice */
    this.samples = new Map();
    /** @type {Promise<void> | null} */
    this.turning = null;
    this.bridge = new AudioBridge();
    /** @type {Set<{source: AudioBufferSourceNode, gain: GainNode}>} handed over and not ended */
    this.sounding = new Set();
    this.timer = 0;
    this.playing = 0;
  }

  /** Whether the page can sound. */
  get on() {
    return this.context?.state === "running" && this.bank !== null;
  }

  /**
   * Turns sound on; to be called while the player touches the page. Later calls wait for the first.
   *
   * @returns {Promise<void>} fulfilled when the page can sound
   */
  turnOn() {
    this.context ??= new AudioContext({ latencyHint: "interactive" });
    this.turning ??= this.#load(this.context).catch((error) => {
      this.turning = null; // the next touch tries again
      throw error;
    });
    return Promise.all([this.context.resume(), this.turning]).then(() => undefined);
  }

  /**
   * @param {number} loudness 0..1
   */
  setLoudness(loudness) {
    this.loudness = loudness;
    if (this.output !== null && this.context !== null) {
      this.output.gain.setTargetAtTime(loudness, this.context.currentTime, FADE);
    }
  }

  /**
   * Sounds the cues of a pass.
   *
   * @param {Begin} begin its `origin`, where known, says when position 0 is to be heard; else it is as soon as can be
   * @returns {Promise<number | null>} when position 0 is heard, in seconds on the page's clock, output latency
   *   included; null when the pass was stopped before it began to sound
   */
  async play(begin) {
    this.stop();
    this.playing = begin.number;
    await this.turnOn();
    const context = /** @type {AudioContext} */ (this.context);
    await this.#bridged(context);
    if (this.playing !== begin.number) {
      return null;
    }
    const offset = this.bridge.offset;
    const zero = roundToFrame(
      begin.origin === null ? context.currentTime + MARGIN + begin.lead : begin.origin - offset,
      context.sampleRate,
    );
    const schedule = new Schedule(begin.cues, zero, context.sampleRate);
    const look = () => {
      this.bridge.read(context.getOutputTimestamp());
      for (const { when, cue } of schedule.due(context.currentTime)) {
        const [, voice, pitch, length, level] = cue;
        this.#sound(voice, pitch, level, when, CUT.has(voice) ? length : null);
      }
      if (schedule.done) {
        clearInterval(this.timer);
      }
    };
    look();
    this.timer = window.setInterval(look, TICK * 1000);
    return zero + offset;
  }

  /** Stops the pass: nothing more is handed over, and what was handed over dies away. */
  stop() {
    clearInterval(this.timer);
    this.playing = 0;
    const context = this.context;
    if (context === null) {
      return;
    }
    for (const { source, gain } of this.sounding) {
      gain.gain.cancelScheduledValues(context.currentTime);
      gain.gain.setTargetAtTime(0, context.currentTime, FADE / 3);
      source.stop(context.currentTime + FADE + LOOK_AHEAD);
    }
    this.sounding.clear();
  }

  /**
   * Sounds one note of the banjo at once, if the page can sound.
   *
   * @param {number} pitch MIDI
   * @param {number} level 0..1
   */
  pluck(pitch, level) {
    if (this.on && this.context !== null) {
      this.#sound("banjo", pitch, level, this.context.currentTime, null);
    }
  }

  /** @param {AudioContext} context */
  async #load(context) {
    this.output ??= new GainNode(context, { gain: this.loudness });
    this.output.connect(context.destination);
    const [index, bytes] = await Promise.all([
      fetch("sound/bank.json").then((answer) => answer.json()),
      fetch("sound/bank.wav").then((answer) => answer.arrayBuffer()),
    ]);
    this.samples = samplesOf(index);
    this.bank = await context.decodeAudioData(bytes);
  }

  /**
   * Waits until the audio clock has run long enough to tell where it is heard.
   *
   * @param {AudioContext} context
   */
  #bridged(context) {
    return new Promise((/** @type {(value: void) => void} */ done) => {
      let looks = 0;
      const look = () => {
        this.bridge.read(context.getOutputTimestamp());
        looks += 1;
        if (looks === PATIENCE && !this.bridge.ready) {
          this.bridge.guess(now(), context.currentTime, context.outputLatency || context.baseLatency);
        }
        if (this.bridge.ready) {
          clearInterval(timer);
          done();
        }
      };
      const timer = window.setInterval(look, TICK * 1000);
      look();
    });
  }

  /**
   * @param {string} voice
   * @param {number} pitch MIDI
   * @param {number} level 0..1
   * @param {number} when seconds on the audio clock
   * @param {number | null} length seconds after which it is cut, null to let it ring
   */
  #sound(voice, pitch, level, when, length) {
    const sample = nearest(this.samples.get(voice) ?? [], pitch);
    const context = this.context;
    if (sample === null || context === null || this.output === null) {
      return;
    }
    const rate = sample.pitch === null ? 1 : 2 ** ((pitch - sample.pitch) / 12);
    const source = new AudioBufferSourceNode(context, { buffer: this.bank, playbackRate: rate });
    const gain = new GainNode(context, { gain: level });
    source.connect(gain).connect(this.output);
    source.start(when, sample.start, sample.length);
    if (length !== null) {
      gain.gain.setTargetAtTime(0, when + length, FADE);
    }
    const sounding = { source, gain };
    this.sounding.add(sounding);
    source.onended = () => {
      this.sounding.delete(sounding);
      gain.disconnect();
    };
  }
}

/** What the bank calls the voices that have one sound only. */
const CLICKS = new Map([
  ["click-beat", "click"],
  ["click-accent", "accent"],
]);

/**
 * The samples of a bank, by voice.
 *
 * @param {{sample_rate: number, sounds: Record<string, Sample>}} index of the bank; starts and lengths in frames
 * @returns {Map<string, Sample[]>} starts and lengths in seconds
 */
export function samplesOf({ sample_rate, sounds }) {
  /** @type {Map<string, Sample[]>} */
  const samples = new Map();
  for (const [name, { start, length, pitch }] of Object.entries(sounds)) {
    const voice = CLICKS.get(name) ?? name.slice(0, name.lastIndexOf("-"));
    const sample = { start: start / sample_rate, length: length / sample_rate, pitch };
    samples.set(voice, [...(samples.get(voice) ?? []), sample]);
  }
  return samples;
}

/**
 * The sample whose pitch is nearest.
 *
 * @param {Sample[]} samples of one voice
 * @param {number} pitch MIDI
 * @returns {Sample | null} null when there are none
 */
export function nearest(samples, pitch) {
  const far = (/** @type {Sample} */ sample) => (sample.pitch === null ? 0 : Math.abs(sample.pitch - pitch));
  return samples.reduce(
    (/** @type {Sample | null} */ best, sample) => (best === null || far(sample) < far(best) ? sample : best),
    null,
  );
}
