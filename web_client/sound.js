/**
 * What the page sounds: the cues of a pass at exact times, and the pad.
 *
 * Browsers let a page sound only after the player has touched it, so everything waits for `turnOn`.
 *
 * @module sound
 */

import { AudioBridge, now } from "./clock.js";
import { fetched } from "./fetched.js";
import { MOST, limitCurve } from "./limit.js";
import { FADE, Playback, byPart } from "./playback.js";
import { LOOK_AHEAD, TICK } from "./schedule.js";

/** @typedef {import("./messages.js").Begin} Begin */
/** @typedef {{start: number, length: number, pitch: number | null}} Sample seconds within the bank; MIDI pitch */

/** Loudness of the page before the player has set it, 0..1: moderate. */
export const FIRST_LOUDNESS = 0.4;

/** Looks at the audio clock after which a browser that pairs it with no other is taken at its word for the latency. */
const PATIENCE = 40;

/** Seconds after which what was known of the audio clock is not trusted any more: it may have stood still. */
const STALE = 1;

/** Seconds in which a string dies away that is sounded anew, or damped. */
const DAMPED = 0.008;

/** Voices that are struck and left alone; the others are damped when their cue ends. */
const FREE = new Set(["click", "accent"]);

/** The page's loudspeaker. */
export class Sound {
  /** @param {{loudness?: number}} options */
  constructor({ loudness = FIRST_LOUDNESS }) {
    this.loudness = loudness;
    /** @type {AudioContext | null} */
    this.context = null;
    /** @type {GainNode | null} */
    this.output = null;
    /** @type {GainNode | null} */
    this.mix = null;
    /** @type {AudioBuffer | null} */
    this.bank = null;
    /** @type {Map<string, Sample[]>} by voice */
    this.samples = new Map();
    /** @type {Promise<void> | null} */
    this.turning = null;
    this.bridge = new AudioBridge();
    this.blindLooks = 0;
    this.looked = -Infinity;
    /** @type {Playback | null} of the pass */
    this.playback = null;
    /** The number of the pass that sounds, or is about to. */
    this.playing = 0;
    /** Called when the sound goes out another way all of a sudden, so many seconds sooner, and the pass was put right. */
    this.onJump = (/** @type {number} */ _sooner) => {};
  }

  /** Whether the page can sound. */
  get on() {
    return this.context?.state === "running" && this.bank !== null;
  }

  /** The context of a page that has turned its sound on. */
  get running() {
    if (this.context === null) {
      throw new Error("the sound was not turned on");
    }
    return this.context;
  }

  /** Seconds from the audio clock to the ear, as far as the browser knows; 0 where it does not tell. */
  get latency() {
    return this.running.outputLatency || 0;
  }

  /** Where all that sounds comes together. */
  get mixed() {
    if (this.mix === null) {
      throw new Error("the sound was not turned on");
    }
    return this.mix;
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
   * Turns sound on, and waits until it is known when the audio clock is heard.
   *
   * @returns {Promise<void>}
   */
  async ready() {
    await this.turnOn();
    if (now() - this.looked > STALE) {
      this.bridge = new AudioBridge();
      this.blindLooks = 0;
    }
    await new Promise((/** @type {(value: void) => void} */ done) => {
      const look = () => {
        this.lookAtClocks();
        if (this.bridge.ready) {
          clearInterval(timer);
          done();
        }
      };
      const timer = window.setInterval(look, TICK * 1000);
      look();
    });
  }

  /** Takes one more reading of when the audio clock is heard. */
  lookAtClocks() {
    const context = this.running;
    this.looked = now();
    if (this.bridge.read(context.getOutputTimestamp())) {
      this.blindLooks = 0;
      return;
    }
    this.blindLooks += 1;
    if (this.blindLooks >= PATIENCE && !this.bridge.paired) {
      this.bridge.guess(this.looked, context.currentTime, this.latency || context.baseLatency);
    }
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
   * @param {Record<string, number>} levels 0..1, of the parts of the pass that sounds
   */
  setLevels(levels) {
    for (const [part, level] of Object.entries(levels)) {
      this.playback?.setGain(part, level);
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
    await this.ready();
    if (this.playing !== begin.number) {
      return null;
    }
    this.playback = new Playback(this, byPart(begin.cues, begin.levels), {
      origin: begin.origin,
      onJump: (sooner) => this.onJump(sooner),
    });
    return this.playback.origin;
  }

  /** Stops the pass. */
  stop() {
    this.playing = 0;
    this.playback?.stop();
    this.playback = null;
  }

  /**
   * Sounds one note of the banjo at once, if the page can sound.
   *
   * @param {number} pitch MIDI
   * @param {number} level 0..1
   */
  pluck(pitch, level) {
    if (this.on) {
      this.sound([0, "banjo", pitch, Infinity, level], this.running.currentTime, this.mixed, () => {});
    }
  }

  /**
   * Hands one sound to the audio clock.
   *
   * @param {import("./messages.js").Cue} cue its time is not used
   * @param {number} when seconds on the audio clock
   * @param {AudioNode} out where it goes
   * @param {() => void} onEnded called when it has died away
   * @returns {{stop: (when: number) => void} | null} ends it before; null where there is no such voice
   */
  sound([, voice, pitch, length, level], when, out, onEnded) {
    const sample = nearest(this.samples.get(voice) ?? [], pitch);
    if (sample === null) {
      return null;
    }
    const context = this.running;
    const rate = sample.pitch === null ? 1 : 2 ** ((pitch - sample.pitch) / 12);
    const source = new AudioBufferSourceNode(context, { buffer: this.bank, playbackRate: rate });
    const gain = new GainNode(context, { gain: level });
    source.connect(gain).connect(out);
    source.start(when, sample.start, sample.length);
    if (!FREE.has(voice) && length < sample.length / rate) {
      gain.gain.setTargetAtTime(0, when + length, DAMPED);
      source.stop(when + length + 8 * DAMPED);
    }
    source.onended = () => {
      gain.disconnect();
      onEnded();
    };
    return {
      stop: (at) => {
        gain.gain.cancelScheduledValues(at);
        gain.gain.setTargetAtTime(0, at, FADE / 3);
        source.stop(at + FADE + LOOK_AHEAD);
      },
    };
  }

  /** @param {AudioContext} context */
  async #load(context) {
    this.output ??= new GainNode(context, { gain: this.loudness });
    this.output.connect(context.destination);
    if (this.mix === null) {
      this.mix = new GainNode(context, { gain: 1 / MOST });
      this.mix.connect(new WaveShaperNode(context, { curve: limitCurve() })).connect(this.output);
    }
    const index = await fetched("sound/bank.json").then((answer) => answer.json());
    const bytes = await fetched(`sound/${index.file}`).then((answer) => answer.arrayBuffer());
    this.samples = samplesOf(index);
    this.bank = await context.decodeAudioData(bytes);
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
