/**
 * Plays something between passes: a solo to listen to, or a take beside its solo. One thing at a time.
 *
 * @module player
 */

import { fetched } from "./fetched.js";
import { Playback, byPart } from "./playback.js";

/** @typedef {import("./messages.js").Cue} Cue */
/** @typedef {import("./playback.js").Track} Track */

/**
 * @typedef {{format: "cues/1", digest: string, tempo: number, bounce: number, first: number, last: number, lead: number,
 *   length: number, positions: [number, number][], cues: Cue[], free: boolean}} SoloCues
 * A solo with all that sounds along; times are seconds from position 0, the count-in lies before it.
 *
 * @typedef {SoloCues & {written: Cue[], click: Cue[], end: number}} TakeCues
 * A take: `cues` are the notes that were heard, `written` those of the solo.
 */

/** How far take and solo are apart when they sound together, -1..1. */
const APART = 0.7;

/** Plays tracks of cues. */
export class Player {
  /** @param {import("./sound.js").Sound} sound */
  constructor(sound) {
    this.sound = sound;
    /** @type {Playback | null} */
    this.playback = null;
    /** Counts what was asked of it: who fetches what to play sees by it whether something else has come meanwhile. */
    this.turn = 0;
    /** Called whenever it has fallen silent, whether it came to the end or was stopped. */
    this.onEnd = () => {};
  }

  /**
   * Plays, in place of what was played before; to be called while the player touches the page.
   *
   * @param {{tracks: Record<string, Track>, from?: number, to?: number}} what tracks by name, and from which to which
   *   second of their cues; from the first cue on until all has died away where that is not said
   * @returns {Promise<boolean>} fulfilled at the end: whether it was reached. Rejected where the page cannot sound
   */
  async play({ tracks, from, to }) {
    this.stop();
    this.turn += 1;
    const { turn } = this;
    await this.sound.ready();
    if (this.turn !== turn) {
      return false;
    }
    const playback = new Playback(this.sound, tracks, { from, to });
    this.playback = playback;
    const whole = await playback.ended;
    if (this.playback === playback) {
      this.stop();
    }
    return whole;
  }

  /** Falls silent. */
  stop() {
    this.turn += 1;
    if (this.playback !== null) {
      this.playback.stop();
      this.playback = null;
      this.onEnd();
    }
  }

  /** Seconds from position 0 that are heard now; null while nothing is played. */
  get at() {
    return this.playback === null ? null : this.playback.at;
  }

  /**
   * @param {string} name of a track that is played
   * @param {number} gain 0..1
   */
  setGain(name, gain) {
    this.playback?.setGain(name, gain);
  }
}

/**
 * Fetches what sounds.
 *
 * @template {SoloCues} T
 * @param {string} address of a file `cues/1`
 * @returns {Promise<T>}
 */
export async function fetchCues(address) {
  return (await fetched(address)).json();
}

/**
 * The tracks `click`, `backing` and `solo` of a solo.
 *
 * @param {SoloCues} cues
 * @param {{click?: number, backing?: number, solo?: number}} gains 0..1, as loud as can be where not said
 * @returns {Record<string, Track>}
 */
export function soloTracks({ cues }, gains) {
  return byPart(cues, gains);
}

/**
 * The tracks of a take: `take` left and `solo` right where both are wanted, and `click`.
 *
 * @param {TakeCues} cues
 * @param {"take" | "solo" | "both"} which
 * @param {number} clickLevel 0..1
 * @returns {Record<string, Track>}
 */
export function takeTracks({ cues, written, click }, which, clickLevel) {
  const pan = which === "both" ? APART : 0;
  return {
    ...(which === "solo" ? {} : { take: { cues, gain: 1, pan: -pan } }),
    ...(which === "take" ? {} : { solo: { cues: written, gain: 1, pan } }),
    click: { cues: click, gain: clickLevel },
  };
}
