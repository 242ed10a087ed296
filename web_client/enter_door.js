/**
 * The door to writing a tune down: what is behind it is fetched when it is opened for the first time, so that the page
 * itself is there sooner.
 *
 * @module enter_door
 */

import { byId, styled } from "./dom.js";
import { TEXT } from "./english.js";

/** @typedef {import("./enter.js").EnterView} EnterView */
/** @typedef {import("./enter_time.js").Note} Note */

/** Opens it, and hands notes on. */
export class EnterDoor {
  /**
   * @param {(view: typeof import("./enter.js").EnterView) => EnterView} make puts together what is behind the door
   * @param {(words: string) => void} say told why it cannot be opened
   */
  constructor(make, say) {
    this.make = make;
    this.say = say;
    /** @type {EnterView | null} */
    this.view = null;
    byId("open-enter").addEventListener("click", () => void this.#open());
  }

  /**
   * A note of the pad.
   *
   * @param {Note} note
   * @returns {boolean} whether it was taken to be written down
   */
  take(note) {
    return this.view?.take(note) ?? false;
  }

  /**
   * A note of an instrument.
   *
   * @param {Note} note
   */
  hear(note) {
    this.view?.hear(note);
  }

  async #open() {
    try {
      const [{ EnterView }] = await Promise.all([import("./enter.js"), styled("enter.css")]);
      this.view ??= this.make(EnterView);
    } catch {
      this.say(TEXT.line.unreachable);
      return;
    }
    this.view.show(true);
  }
}
