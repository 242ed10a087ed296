/**
 * Hearing a student: their notes by this page's own sound, with accompaniment and click of their pass, a moment later.
 *
 * @module desk_hear
 */

import { now } from "./clock.js";
import { BEHIND, Heard } from "./desk_heard.js";
import { DESK } from "./desk_english.js";
import { byId } from "./dom.js";
import { FADE } from "./playback.js";
import { TICK } from "./schedule.js";

/** The slip "Listen". */
export class HearView {
  /**
   * @param {import("./state.js").Practice} practice of the student who is looked on
   * @param {import("./sound.js").Sound} sound
   */
  constructor(practice, sound) {
    this.practice = practice;
    this.sound = sound;
    this.name = "";
    /** Called when all sounds another time later than before. */
    this.onBehind = () => {};
    this.button = byId("hear");
    this.words = byId("hear-words");
    this.levels = byId("hear-levels");
    /** Whether they are heard. */
    this.on = false;
    /** @type {GainNode | null} */
    this.out = null;
    this.timer = 0;
    this.heard = new Heard((pitch, level, when) => {
      const out = /** @type {GainNode} */ (this.out);
      const { offset } = sound.bridge;
      const at = Math.max(when - offset, sound.running.currentTime);
      const voice = sound.sound([0, "banjo", pitch, Infinity, level], at, out, () => {});
      return voice && { stop: (until) => voice.stop(Math.max(until - offset, sound.running.currentTime)) };
    });
    this.button.addEventListener("click", () => void (this.on ? this.end() : this.#begin()));
    this.levels.addEventListener("input", () => this.#level());
    practice.on("begin", ({ begin }) => this.#accompany(begin));
    practice.on("state", () => {
      if (!practice.playing && this.on && sound.playing !== 0) {
        const { playing } = sound;
        setTimeout(() => sound.playing === playing && sound.stop(), this.behind * 1000); // its last notes are still to sound
      }
    });
  }

  /** Seconds by which all sounds later than it was played; 0 while nothing is heard. */
  get behind() {
    return this.on ? this.heard.behind : 0;
  }

  /** @param {{stamp: number, data: number[], string: number | null}} sounded */
  take(sounded) {
    if (this.on) {
      const before = this.heard.late;
      this.heard.take(sounded, now());
      if (this.heard.late !== before) {
        this.words.textContent = DESK.hear.late(this.heard.late);
      }
    }
  }

  /** Falls silent. */
  end() {
    this.on = false;
    clearInterval(this.timer);
    if (this.out !== null) {
      this.heard.quiet(now());
    }
    this.sound.stop();
    this.#show("");
  }

  async #begin() {
    this.#show(DESK.hear.starting);
    try {
      await this.sound.ready();
    } catch {
      this.#show(DESK.hear.failed);
      return;
    }
    this.out ??= new GainNode(this.sound.running);
    this.out.connect(this.sound.mixed);
    this.on = true;
    this.timer = window.setInterval(() => this.sound.lookAtClocks(), TICK * 1000);
    this.#level();
    const { begin, playing } = this.practice;
    if (playing && begin !== null) {
      this.#accompany(begin);
    }
  }

  /** @param {import("./messages.js").Begin} begin */
  #accompany(begin) {
    if (this.on && begin.origin !== null && !begin.learning && begin.cues.length > 0 && this.sound.playing !== begin.number) {
      void this.sound.play({ ...begin, origin: begin.origin + this.heard.behind, levels: this.#gains() });
    }
  }

  /** The solo of the pass is never sounded: what they play themselves is what is listened to. */
  #gains() {
    const { backing, click } = this.levels.elements;
    return { backing: Number(backing.value), click: Number(click.value), solo: 0 };
  }

  #level() {
    const { notes, far } = this.levels.elements;
    const behind = BEHIND[far.checked ? 1 : 0];
    if (behind !== this.heard.behind) {
      this.heard.behind = behind;
      this.heard.quiet(now());
      this.sound.stop(); // it comes back with the next pass, at its new place
    }
    this.out?.gain.setTargetAtTime(Number(notes.value), this.sound.running.currentTime, FADE);
    this.sound.setLevels(this.#gains());
    if (this.on) {
      this.#show(DESK.hear.hearing(this.name, this.heard.behind));
    }
  }

  /** @param {string} words */
  #show(words) {
    this.onBehind();
    this.words.textContent = words;
    this.button.textContent = this.on ? DESK.hear.off : DESK.hear.on;
    this.button.setAttribute("aria-pressed", String(this.on));
  }
}
