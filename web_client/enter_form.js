/**
 * What stands over a tune that is written down, and its words: title, key, metre, pickup, tempo.
 *
 * @module enter_form
 */

import { tonicsOf } from "./abc_names.js";
import { byId, element } from "./dom.js";
import { METERS, measureOf } from "./enter_tune.js";
import { TEXT } from "./english.js";

/** @typedef {import("./enter_tune.js").Draft} Draft */

/** The eighths that a pickup can have. */
const PICKUPS = [0, 1, 2, 3, 4, 5, 6];
const EIGHTH = 24;

/** The fields. */
export class EnterForm {
  /**
   * @param {() => Draft} draft gives the one at hand
   * @param {{change: (draft: Draft) => void, type: (name: "title" | "words", value: string) => void}} on called when a
   *   field was set, and for every letter of what is typed
   */
  constructor(draft, on) {
    this.draft = draft;
    this.on = on;
    this.form = byId("enter-form");
    this.#options("meter", METERS.map((meter) => [meter, meter]));
    this.#options("mode", Object.entries(TEXT.enter.modes));
    this.form.addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());
    this.form.addEventListener("change", (/** @type {Event} */ event) => {
      const field = /** @type {HTMLInputElement} */ (event.target);
      if (["tonic", "mode", "meter", "tempo", "pickup"].includes(field.name)) {
        this.#set(field);
      }
    });
    this.form.addEventListener("input", (/** @type {Event} */ event) => {
      const { name, value } = /** @type {HTMLInputElement} */ (event.target);
      if (name === "title" || name === "words") {
        on.type(name, value);
      }
    });
  }

  /** Leads the player to the title. */
  askForTitle() {
    this.form.elements.title.focus();
  }

  /**
   * Shows a draft; a field that is being typed into is left alone.
   *
   * @param {Draft} draft
   */
  show(draft) {
    const fields = this.form.elements;
    this.#options("tonic", tonicsOf(draft.mode).map((tonic) => [tonic, tonic]));
    const pickups = PICKUPS.filter((eighths) => eighths * EIGHTH < measureOf(draft.meter));
    this.#options("pickup", pickups.map((eighths) => [String(eighths * EIGHTH), TEXT.enter.pickup(eighths)]));
    for (const name of /** @type {const} */ (["title", "tonic", "mode", "meter", "pickup", "tempo", "words"])) {
      if (fields[name] !== document.activeElement || name === "tonic" || name === "pickup") {
        fields[name].value = String(draft[name]);
      }
    }
  }

  /**
   * @param {string} name of a list
   * @param {[string, string][]} options values and words
   */
  #options(name, options) {
    this.form.elements[name].replaceChildren(...options.map(([value, words]) => element("option", { value }, words)));
  }

  /** @param {HTMLInputElement} field */
  #set(field) {
    if (field.name === "tempo" && !field.validity.valid) {
      field.reportValidity();
      return;
    }
    const value = ["tempo", "pickup"].includes(field.name) ? Number(field.value) : field.value;
    const changed = { ...this.draft(), [field.name]: value };
    const tonics = tonicsOf(changed.mode);
    this.on.change({
      ...changed,
      tonic: tonics.includes(changed.tonic) ? changed.tonic : tonics[0],
      pickup: changed.pickup < measureOf(changed.meter) ? changed.pickup : 0,
    });
  }
}
