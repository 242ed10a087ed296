/**
 * What is to be practised: tune, tier, tempo, goal, measures.
 *
 * @module chooser
 */

import { byId } from "./dom.js";
import { TEXT } from "./english.js";

/** The form in the margin. Every change is sent at once. */
export class Chooser {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(settings: Record<string, any>) => void} send settings for the next pass
   */
  constructor(practice, send) {
    this.practice = practice;
    this.send = send;
    this.form = byId("chooser");
    this.form.addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());
    this.form.addEventListener("change", (/** @type {Event} */ event) => this.#changed(/** @type {any} */ (event.target)));
    byId("whole").addEventListener("click", () => send({ whole: true }));
    for (const [id, by] of /** @type {[string, number][]} */ ([["slower", -4], ["faster", 4]])) {
      byId(id).addEventListener("click", () => this.#step(by));
    }
    for (const part of /** @type {const} */ (["tunes", "state"])) {
      practice.on(part, () => this.#showState());
    }
  }

  /** @param {HTMLInputElement} field */
  #changed(field) {
    if (field.name === "" || field.type === "file") {
      return; // they belong to the tune book
    }
    if (field.type === "number") {
      if (field.validity.valid && field.value !== "") {
        this.send({ [field.name]: Number(field.value) });
      } else {
        field.reportValidity();
      }
    } else {
      const jam = field.name === "tune" && this.practice.isStudy(field.value) ? { jam: false } : {};
      this.send({ [field.name]: field.type === "checkbox" ? field.checked : field.value, ...jam });
    }
  }

  /** @param {number} by quarters a minute */
  #step(by) {
    const tempo = this.form.elements.tempo;
    const value = Math.min(Number(tempo.max), Math.max(Number(tempo.min), Math.round(Number(tempo.value)) + by));
    tempo.value = String(value);
    this.send({ tempo: value });
  }

  #showState() {
    const state = this.practice.state;
    if (state === null) {
      return;
    }
    const { elements } = this.form;
    elements.tier.value = state.tier;
    for (const name of /** @type {const} */ (["free_time", "jam", "with_solo", "with_backing"])) {
      elements[name].checked = state[name];
    }
    elements.jam.disabled = this.practice.isStudy(state.tune) && !state.jam; // nobody takes turns over a roll
    byId("jam-words").hidden = !state.jam;
    byId("by-click").hidden = state.free_time;
    byId("free-words").hidden = !state.free_time;
    for (const name of /** @type {const} */ (["tempo", "goal", "first", "last"])) {
      if (document.activeElement !== elements[name]) {
        elements[name].value = TEXT.number(state[name]);
      }
    }
    byId("waiting").textContent = state.waiting || (this.practice.playing ? TEXT.chooser.later : "");
  }
}
