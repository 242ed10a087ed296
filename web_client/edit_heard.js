/**
 * Lets measures sound while a solo is edited: as they stand, or on another way; one at a time.
 *
 * @module edit_heard
 */

import { element } from "./dom.js";
import { cuesOf } from "./edit_cues.js";
import { TEXT } from "./english.js";

/** @typedef {import("./edit_measure.js").Measure} Measure */

/** Plays measures, each by a button of its own. */
export class MeasureHeard {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./player.js").Player} player
   * @param {(wrong: string) => void} say called with why nothing sounds; empty where something does
   */
  constructor(practice, player, say) {
    this.practice = practice;
    this.player = player;
    this.say = say;
    /** @type {HTMLButtonElement | null} by which something sounds */
    this.button = null;
    /** @type {WeakMap<HTMLButtonElement, string>} what each plays, as it is read out */
    this.names = new WeakMap();
    /** Counts what was asked for: one that was stopped ends a little later, when another may sound by the same button. */
    this.turn = 0;
  }

  /**
   * Has a button play a measure, or end that.
   *
   * @param {HTMLButtonElement} button
   * @param {string} name of what it plays, as it is read out
   * @param {() => {measure: Measure, slot: string} | null} what is to be heard then, and the slot of its solo in quarters
   * @returns {HTMLButtonElement} the same
   */
  on(button, name, what) {
    this.names.set(button, name);
    this.#show(button, false);
    button.addEventListener("click", () => {
      const asked = what();
      if (this.button === button) {
        this.stop();
      } else if (asked !== null) {
        void this.#play(button, asked.measure, asked.slot);
      }
    });
    return button;
  }

  /** Falls silent, where something sounds by one of these buttons. */
  stop() {
    if (this.button !== null) {
      this.#end(this.button);
      this.player.stop();
    }
  }

  /**
   * @param {HTMLButtonElement} button
   * @param {Measure} measure
   * @param {string} slot
   */
  async #play(button, measure, slot) {
    const { state, playing } = this.practice;
    if (state === null || playing) {
      return;
    }
    this.stop();
    const { turn } = this;
    this.button = button;
    this.#show(button, true);
    this.say("");
    try {
      const { tempo, bounce } = state;
      await this.player.play({ tracks: { solo: { cues: cuesOf(measure, { slot, tempo, bounce }), gain: 1 } } });
    } catch {
      this.say(TEXT.edit.silent);
    }
    if (this.turn === turn) {
      this.#end(button);
    }
  }

  /** @param {HTMLButtonElement} button */
  #end(button) {
    this.turn += 1;
    this.button = null;
    this.#show(button, false);
  }

  /**
   * @param {HTMLButtonElement} button
   * @param {boolean} sounds
   */
  #show(button, sounds) {
    const [seen, unseen] = sounds ? TEXT.edit.hush : [TEXT.edit.hear, this.names.get(button) ?? ""];
    button.replaceChildren(seen, element("span", { className: "unseen" }, unseen));
  }
}
