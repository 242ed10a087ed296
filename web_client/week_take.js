/**
 * Takes of a week, played by the page's own sound: one at a time.
 *
 * @module week_take
 */

import { Player, fetchCues, takeTracks } from "./player.js";
import { WEEK } from "./week_english.js";

/** @typedef {import("./week_view.js").Take} Take */

/** How loud the click is beside what was played, 0..1. */
const CLICK = 0.5;

/** Plays takes. */
export class WeekTakes {
  /**
   * @param {import("./sound.js").Sound} sound
   * @param {(words: string) => void} say
   */
  constructor(sound, say) {
    this.player = new Player(sound);
    this.say = say;
    /** @type {HTMLButtonElement | null} of the take that sounds, or is fetched */
    this.button = null;
    this.player.onEnd = () => this.#rest();
  }

  /**
   * Plays a take, or stops it where it is the one that sounds.
   *
   * @param {Take} take
   * @param {HTMLButtonElement} button its own
   */
  async hear(take, button) {
    const again = this.button === button;
    this.stop();
    if (again) {
      return;
    }
    this.button = button;
    button.textContent = WEEK.takes.stop;
    button.setAttribute("aria-pressed", "true");
    this.say(WEEK.takes.fetching);
    try {
      // Asked for while the button is pressed, or no browser lets it sound.
      const [cues] = await Promise.all([fetchCues(take.cues), this.player.sound.ready()]);
      if (this.button !== button) {
        return;
      }
      this.say("");
      await this.player.play({ tracks: takeTracks(/** @type {any} */ (cues), "take", CLICK) });
    } catch (error) {
      if (this.button === button) {
        this.#rest();
        this.say(/** @type {Error} */ (error).message);
      }
    }
  }

  /** Falls silent. */
  stop() {
    this.player.stop();
    this.#rest();
    this.say("");
  }

  #rest() {
    if (this.button !== null) {
      this.button.textContent = WEEK.takes.play;
      this.button.removeAttribute("aria-pressed");
      this.button = null;
    }
  }
}
