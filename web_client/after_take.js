/**
 * The take played back, the solo beside it: whole, from a measure on, or around a moment.
 *
 * @module after_take
 */

import { BEFORE, momentSpan, spanOf } from "./after_time.js";
import { byId, element } from "./dom.js";
import { fetchCues, takeTracks } from "./player.js";
import { TEXT } from "./english.js";
import { fraction } from "./written.js";

/** @typedef {import("./player.js").TakeCues} TakeCues */
/** @typedef {"take" | "solo" | "both"} Which */

/** How loud the click is beside what was played, 0..1. */
const CLICK = 0.5;

/** The part of the report slip by which a pass is heard again. */
export class TakeView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./player.js").Player} player
   * @param {import("./place.js").PlaceView} place
   */
  constructor(practice, player, place) {
    this.practice = practice;
    this.player = player;
    this.place = place;
    this.form = byId("take-form");
    this.button = byId("take-play");
    this.words = byId("take-words");
    this.address = "";
    /** @type {any} the solo that was played */
    this.arrangement = null;
    /** @type {Promise<TakeCues> | null} of the pass, once it was asked for */
    this.cues = null;
    /** Counts what was asked to be played, so that only the last is. */
    this.turn = 0;
    /** The turn of the player when something was asked for. */
    this.asked = 0;
    /** Whether it is this pass that sounds, and not something else that is listened to. */
    this.sounding = false;
    /** Whether it plays on, and not only a moment. */
    this.running = false;
    /** @type {import("./place.js").Source | null} what the mark on the sheet goes along with */
    this.source = null;
    this.form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      if (this.button.dataset.playing === "true") {
        this.#stop();
      } else {
        void this.#playOn();
      }
    });
    this.form.addEventListener("change", (/** @type {any} */ event) => this.#changed(event.target.name));
  }

  /**
   * Offers a pass to be heard again.
   *
   * @param {import("./messages.js").Report | null} report null for none
   * @param {any} arrangement the solo that was played
   */
  offer(report, arrangement) {
    this.#stop();
    this.cues = null;
    this.arrangement = arrangement;
    this.address = report === null ? "" : report.take.replace(/\.mid$/, ".cues.json");
    this.form.hidden = this.address === "";
    this.words.textContent = "";
    if (report !== null) {
      const numbers = report.measures.map(({ number }) => number);
      this.form.elements.measure.replaceChildren(...numbers.map((number) => element("option", {}, String(number))));
    }
  }

  /**
   * Takes a measure to begin with.
   *
   * @param {number} measure
   */
  from(measure) {
    this.form.elements.measure.value = String(measure);
  }

  /**
   * Plays the surroundings of a moment: first the take, then the solo.
   *
   * @param {number} measure
   * @param {number} at quarters from the start of the measure
   */
  async moment(measure, at) {
    if (this.address === "") {
      return; // nothing was heard in this pass
    }
    const turn = this.#begin();
    const cues = await this.#fetched(turn);
    if (cues === null) {
      return;
    }
    const length = fraction(this.arrangement.measures.find((/** @type {any} */ one) => one.number === measure).length);
    const span = momentSpan(cues, measure, at / length);
    if (span === null) {
      this.#rest();
      this.words.textContent = TEXT.after.beyond;
      return;
    }
    this.from(measure);
    for (const which of /** @type {const} */ (["take", "solo"])) {
      if (!(await this.#play(turn, cues, which, span))) {
        return;
      }
    }
    this.#rest();
  }

  /** @returns {Which} */
  get which() {
    return this.form.elements.which.value;
  }

  /**
   * Plays on from a measure, or from a second.
   *
   * @param {number | null} [from] seconds; null for the measure that is chosen
   */
  async #playOn(from = null) {
    const turn = this.#begin();
    const cues = await this.#fetched(turn);
    if (cues === null) {
      return;
    }
    const start = from ?? (spanOf(cues, Number(this.form.elements.measure.value))?.start ?? 0) - BEFORE;
    this.running = true;
    if (await this.#play(turn, cues, this.which, { from: start, to: Math.max(cues.end, cues.length) })) {
      this.#rest();
    }
  }

  /**
   * Something is to be played, in place of what was.
   *
   * @returns {number} its turn
   */
  #begin() {
    this.player.stop();
    this.asked = this.player.turn;
    this.running = false;
    this.turn += 1;
    this.button.dataset.playing = "true";
    this.button.textContent = TEXT.after.stop;
    return this.turn;
  }

  /** Falls silent, unless it is something else that sounds. */
  #stop() {
    this.turn += 1;
    if (this.sounding) {
      this.player.stop();
    }
    this.#rest();
  }

  /** Nothing of this pass sounds any more. */
  #rest() {
    this.running = false;
    if (this.source !== null && this.place.source === this.source) {
      this.place.follow(null);
    }
    this.source = null;
    this.button.dataset.playing = "false";
    this.button.textContent = TEXT.after.play;
    this.words.textContent = "";
  }

  /**
   * @param {number} turn
   * @returns {Promise<TakeCues | null>} null where it cannot be had, or something else was asked for meanwhile
   */
  async #fetched(turn) {
    if (this.cues === null) {
      this.words.textContent = TEXT.after.fetching;
      this.cues = fetchCues(this.address);
    }
    try {
      const cues = /** @type {TakeCues} */ (await this.cues);
      if (turn === this.turn && this.player.turn !== this.asked) {
        this.#rest(); // something else sounds by now
        return null;
      }
      return turn === this.turn ? cues : null;
    } catch (error) {
      if (turn === this.turn) {
        this.cues = null; // the next touch tries again
        this.#rest();
        this.words.textContent = TEXT.after.noTake(/** @type {Error} */ (error).message);
      }
      return null;
    }
  }

  /**
   * @param {number} turn
   * @param {TakeCues} cues
   * @param {Which} which
   * @param {{from: number, to: number}} span seconds
   * @returns {Promise<boolean>} whether it came to its end, and nothing else was asked for
   */
  async #play(turn, cues, which, { from, to }) {
    this.words.textContent = TEXT.after.sounds[which];
    const { digest, positions, length, bounce } = cues;
    this.source = { seconds: () => this.player.at, positions, length, digest, bounce };
    this.place.follow(this.source);
    try {
      const playing = this.player.play({ tracks: takeTracks(cues, which, this.#click()), from, to });
      this.sounding = true;
      const whole = await playing;
      if (turn !== this.turn) {
        return false;
      }
      this.sounding = false;
      if (!whole) {
        this.#rest(); // a pass has begun, or something else is listened to
      }
      return whole;
    } catch {
      this.sounding = false;
      this.#rest();
      this.words.textContent = TEXT.sound.failed;
      return false;
    }
  }

  #click() {
    return this.form.elements.click.checked ? CLICK : 0;
  }

  /**
   * Another wish while it plays: the click comes and goes at once, what else is heard from here on.
   *
   * @param {string} name of the field
   */
  #changed(name) {
    if (name === "click") {
      this.player.setGain("click", this.#click());
    } else if (name === "which" && this.running) {
      void this.#playOn(this.player.at);
    }
  }
}
