/**
 * The line at the top of the page that says what went wrong, or what is waited for.
 *
 * @module notice
 */

import { byId } from "./dom.js";

/** The notice. */
export class Notice {
  /** @param {import("./state.js").Practice} practice */
  constructor(practice) {
    this.practice = practice;
    this.line = byId("notice");
  }

  /** What it says; empty where it says nothing. */
  get words() {
    return this.line.textContent;
  }

  /** @param {string} words empty to take it away */
  say(words) {
    this.line.textContent = words;
    this.line.hidden = words === "";
  }

  /** Takes away what was said to the player, who has gone on; but not that the line is down. */
  heed() {
    if (this.practice.up) {
      this.say("");
    }
  }
}
