/**
 * The names of chords over a tune that is written down.
 *
 * @module enter_chords
 */

import { nameOf } from "./abc_names.js";
import { byId, element } from "./dom.js";
import { beatOf, harmonised, startsOf, usualChords } from "./enter_tune.js";
import { TEXT } from "./english.js";

/** @typedef {import("./enter_tune.js").Draft} Draft */

/** What may be a chord name; whether it is one, the service says. */
const NAME = /^[A-G][#b]?[A-Za-z0-9#+°ø-]{0,8}(\/[A-G][#b]?)?$/;

/** Names the chord where the chosen note begins, or a beat within it. */
export class EnterChords {
  /**
   * @param {(change: (draft: Draft) => Draft) => void} onChange
   * @param {(words: string) => void} onWrong
   */
  constructor(onChange, onWrong) {
    this.onChange = onChange;
    this.onWrong = onWrong;
    this.list = byId("enter-chords");
    this.beats = byId("enter-beat");
    this.field = byId("enter-chord");
    /** Where the chosen note begins, in ticks. */
    this.start = 0;
    this.begun = /** @type {Record<number, string>} */ ({});
    this.list.addEventListener("click", (/** @type {Event} */ event) => {
      const chip = /** @type {HTMLElement} */ (event.target).closest("button");
      if (chip !== null) {
        this.#name(chip.textContent ?? "");
      }
    });
    this.beats.addEventListener("change", () => this.#mark());
    this.field.addEventListener("change", () => this.#typed());
  }

  /** The tick at which the chord is to begin. */
  get #tick() {
    return this.start + Number(this.beats.value);
  }

  #typed() {
    const name = this.field.value.trim();
    if (name === "") {
      return;
    }
    if (!NAME.test(name)) {
      this.onWrong(TEXT.enter.badChord);
      return;
    }
    this.field.value = "";
    this.#name(name);
  }

  /** @param {string} name a chord that begins there already ends */
  #name(name) {
    const tick = this.#tick;
    this.onChange((draft) => harmonised(draft, tick, draft.chords[tick] === name ? "" : name));
  }

  /**
   * @param {Draft} draft
   * @param {number} at the index of the note that is chosen
   */
  show(draft, at) {
    const before = this.beats.value;
    const start = startsOf(draft)[at];
    const beat = beatOf(draft.meter);
    const length = draft.notes[at]?.length ?? beat;
    const stays = start === this.start;
    this.start = start;
    this.begun = draft.chords;
    const names = usualChords(draft, (pitchClass) => nameOf(draft, pitchClass));
    const others = [...new Set(Object.values(draft.chords))].filter((name) => !names.includes(name));
    this.list.replaceChildren(
      ...[...names, ...others].map((name) => element("button", { type: "button", className: "quiet shape" }, name)),
    );
    const beats = Array.from({ length: Math.max(1, Math.ceil(length / beat)) }, (_, index) => index);
    this.beats.replaceChildren(
      ...beats.map((index) => element("option", { value: String(index * beat) }, TEXT.enter.beat(index))),
    );
    this.beats.value = stays && beats.some((index) => String(index * beat) === before) ? before : "0";
    byId("enter-within").hidden = beats.length === 1;
    this.#mark();
  }

  /** Shows which chord begins there. */
  #mark() {
    for (const chip of this.list.children) {
      chip.setAttribute("aria-pressed", String(chip.textContent === this.begun[this.#tick]));
    }
  }
}
