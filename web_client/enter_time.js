/**
 * A melody played to the page's click, to be written down.
 *
 * @module enter_time
 */

import { byId } from "./dom.js";
import { onGrid } from "./enter_grid.js";
import { QUARTER, beatOf, measureOf } from "./enter_tune.js";
import { TEXT } from "./english.js";

/** @typedef {import("./enter_tune.js").Draft} Draft */
/** @typedef {import("./messages.js").Cue} Cue */
/** @typedef {{stamp: number, pitch: number, string: number | null, fret: number | null, velocity: number}} Note
 * A note, wherever it was played; `stamp` in seconds on the page's clock.
 */

/** Measures after which the click ends by itself. */
const MOST_MEASURES = 200;

/** Seconds between two looks at where the click is. */
const LOOK = 0.1;

/** How loud the click is. */
const LEVEL = 0.8;

/**
 * The clicks.
 *
 * @param {{meter: string, tempo: number, pickup: number}} of `pickup` in ticks
 * @returns {{lead: number, beat: number, cues: Cue[]}} seconds of the count-in before the first barline, and of a beat
 */
export function clicksOf({ meter, tempo, pickup }) {
  const second = (tempo * QUARTER) / 60;
  const [full, beat] = [measureOf(meter), beatOf(meter)];
  const counted = (pickup > 0 || full < 3 * QUARTER ? 2 : 1) * full;
  /** @type {Cue[]} */
  const cues = [];
  for (let tick = -counted; tick < MOST_MEASURES * full; tick += beat) {
    cues.push([tick / second, tick % full === 0 ? "accent" : "click", 76, 0.03, LEVEL]);
  }
  return { lead: counted / second, beat: beat / second, cues };
}

/** Takes down what is played to the click. */
export class InTime {
  /**
   * @param {import("./player.js").Player} player
   * @param {(notes: import("./enter_tune.js").DraftNote[], lateMs: number) => void} onTaken called at the end
   */
  constructor(player, onTaken) {
    this.player = player;
    this.onTaken = onTaken;
    this.label = byId("enter-record").querySelector(".label");
    this.words = byId("enter-count");
    /** @type {Note[] | null} what was played so far; null while nothing is taken down */
    this.played = null;
  }

  /** Whether it is taken down what is played. */
  get on() {
    return this.played !== null;
  }

  /** @param {Note} note */
  hear(note) {
    if (this.player.at !== null) {
      this.played?.push(note);
    }
  }

  /** Ends it. */
  stop() {
    if (this.on) {
      this.player.stop();
    }
  }

  /**
   * Begins; to be called on the player's touch.
   *
   * @param {Draft} draft
   */
  async start(draft) {
    const { lead, beat, cues } = clicksOf(draft);
    /** @type {Note[]} */
    const played = [];
    this.played = played;
    this.label.textContent = TEXT.enter.stop;
    let origin = NaN;
    const look = () => {
      const { at, playback } = this.player;
      if (at !== null && playback !== null) {
        origin = playback.origin;
        this.words.textContent = this.#where(at, lead, beat, draft);
      }
    };
    const timer = window.setInterval(look, LOOK * 1000);
    const sounded = await this.player.play({ tracks: { click: { cues, gain: 1 } } }).then(
      () => true,
      () => false,
    );
    clearInterval(timer);
    this.played = null;
    this.label.textContent = TEXT.enter.record;
    this.words.textContent = sounded ? "" : TEXT.enter.silent;
    if (sounded) {
      this.#put(draft, played, origin);
    }
  }

  /**
   * @param {Draft} draft
   * @param {Note[]} played
   * @param {number} origin when the first barline was heard, in seconds on the page's clock
   */
  #put(draft, played, origin) {
    const from = -draft.pickup / ((draft.tempo * QUARTER) / 60) - 0.3 * (60 / draft.tempo);
    const meant = played
      .map(({ stamp, ...note }) => ({ ...note, seconds: stamp - origin }))
      .filter(({ seconds }) => seconds >= from) // what sounded in the count-in was no melody
      .sort((a, b) => a.seconds - b.seconds);
    const sixteenths = byId("enter-sixteenths").checked;
    const { notes, lateMs } = onGrid(meant, { ...draft, sixteenths });
    this.onTaken(notes, lateMs);
  }

  /**
   * @param {number} at seconds from the first barline
   * @param {number} lead
   * @param {number} beat
   * @param {Draft} draft
   */
  #where(at, lead, beat, { meter, tempo, pickup }) {
    const second = (tempo * QUARTER) / 60;
    if (at * second >= -pickup) {
      return at < 0 ? TEXT.enter.pickupNow : TEXT.enter.measure(Math.floor((at * second) / measureOf(meter)) + 1);
    }
    const beats = Math.round((measureOf(meter) / second) / beat);
    return TEXT.enter.count((Math.max(0, Math.floor((at + lead) / beat)) % beats) + 1);
  }
}
