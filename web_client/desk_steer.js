/**
 * Asking a student to have tempo, tier or measures set: nothing is taken over without their word.
 *
 * @module desk_steer
 */

import { DESK } from "./desk_english.js";
import { steered } from "./desk_form.js";
import { byId } from "./dom.js";

/** The slip "Ask to set". */
export class SteerView {
  /**
   * @param {import("./state.js").Practice} practice of the student who is looked on
   * @param {(fields: Record<string, any>) => boolean} ask false where there is no line
   */
  constructor(practice, ask) {
    this.practice = practice;
    this.ask = ask;
    this.form = byId("steer");
    this.words = byId("steer-words");
    /** Whether something was changed that is not asked yet. */
    this.touched = false;
    this.form.addEventListener("input", (/** @type {any} */ { target }) => this.#touch(target));
    for (const button of this.form.querySelectorAll("[data-by]")) {
      button.addEventListener("click", () => this.#step(Number(button.dataset.by)));
    }
    this.form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      this.#send();
    });
    practice.on("state", () => !this.touched && this.#fill());
  }

  /** Another student: what was not asked is forgotten. */
  clear() {
    this.touched = false;
    this.words.textContent = "";
    this.form.reset();
  }

  /** @param {string} words what came of it */
  say(words) {
    this.words.textContent = words;
  }

  /** @param {HTMLInputElement} field */
  #touch(field) {
    this.touched = true;
    const { whole } = this.form.elements;
    if (field.name === "first" || field.name === "last") {
      whole.checked = false;
    }
  }

  /** @param {number} by quarters a minute */
  #step(by) {
    const { tempo } = this.form.elements;
    tempo.value = String(Math.min(Number(tempo.max), Math.max(Number(tempo.min), Math.round(Number(tempo.value)) + by)));
    this.touched = true;
  }

  #fill() {
    const { state } = this.practice;
    const { elements } = this.form;
    if (state !== null) {
      elements.tempo.value = String(Math.round(state.tempo * 10) / 10);
      elements.tier.value = state.tier;
      elements.first.value = String(state.first);
      elements.last.value = String(state.last);
      elements.whole.checked = state.last - state.first + 1 >= state.measures;
    }
  }

  #send() {
    const { state } = this.practice;
    const { elements } = this.form;
    if (state === null) {
      return;
    }
    const [first, last, whole] = [Number(elements.first.value), Number(elements.last.value), elements.whole.checked];
    const is = { ...state, tempo: Math.round(state.tempo * 10) / 10 };
    const fields = steered(is, { tempo: Number(elements.tempo.value), tier: elements.tier.value, first, last, whole });
    if (!whole && first > last) {
      this.say(DESK.steer.order);
    } else if (fields === null) {
      this.say(DESK.steer.nothing);
    } else if (this.ask(fields)) {
      this.touched = false;
    } else {
      this.say(DESK.steer.away);
    }
  }
}
