/**
 * What is to be practised: tune, tier, tempo, goal, measures; and a tune of one's own.
 *
 * @module chooser
 */

import { byId, element } from "./dom.js";
import { TEXT } from "./texts.js";

/** @typedef {import("./messages.js").TuneLine} TuneLine */

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
    this.words = byId("upload-words");
    this.form.addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());
    this.form.addEventListener("change", (/** @type {Event} */ event) => this.#changed(/** @type {any} */ (event.target)));
    byId("whole").addEventListener("click", () => send({ whole: true }));
    for (const [id, by] of /** @type {[string, number][]} */ ([["slower", -4], ["faster", 4]])) {
      byId(id).addEventListener("click", () => this.#step(by));
    }
    this.#listenForFiles();
    practice.on("tunes", () => this.#showTunes());
    practice.on("state", () => this.#showState());
  }

  /** @param {HTMLInputElement} field */
  #changed(field) {
    if (field.type === "file") {
      return;
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

  #showTunes() {
    const select = this.form.elements.tune;
    const option = (/** @type {TuneLine} */ tune) => element("option", { value: tune.id }, TEXT.chooser.tune(tune));
    const tunes = this.practice.tunes.filter((tune) => !tune.study).map(option);
    const studies = this.practice.tunes.filter((tune) => tune.study).map(option);
    select.replaceChildren(
      ...(studies.length === 0
        ? tunes
        : [
            element("optgroup", { label: TEXT.chooser.tunes }, ...tunes),
            element("optgroup", { label: TEXT.chooser.studies }, ...studies),
          ]),
    );
    this.#showState();
  }

  #showState() {
    const state = this.practice.state;
    if (state === null) {
      return;
    }
    const { elements } = this.form;
    elements.tune.value = state.tune;
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

  #listenForFiles() {
    const field = this.form.elements.file;
    field.addEventListener("change", () => {
      if (field.files.length > 0) {
        this.#upload(field.files[0]);
        field.value = "";
      }
    });
    const drop = byId("drop");
    const over = (/** @type {DragEvent} */ event) => {
      if (event.dataTransfer?.types.includes("Files")) {
        event.preventDefault();
        drop.classList.add("over");
      }
    };
    document.addEventListener("dragover", over);
    document.addEventListener("dragleave", () => drop.classList.remove("over"));
    document.addEventListener("drop", (event) => {
      drop.classList.remove("over");
      const file = event.dataTransfer?.files[0];
      if (file) {
        event.preventDefault();
        this.#upload(file);
      }
    });
  }

  /** @param {File} file */
  async #upload(file) {
    this.words.textContent = TEXT.chooser.reading(file.name);
    const form = new FormData();
    form.append("file", file);
    try {
      const answer = await fetch("tunes", { method: "POST", body: form });
      const told = await answer.json();
      if (!answer.ok) {
        this.words.textContent = told.text;
        return;
      }
      this.words.textContent = TEXT.chooser.added(told.title, told.complaints);
      this.send({ tune: told.id });
    } catch {
      this.words.textContent = TEXT.chooser.notSent(file.name);
    }
  }
}
