/**
 * The row of chord shapes over the pad: those of the tune, the player's own, and all others in a list.
 *
 * @module shapes_view
 */

import { byId, element } from "./dom.js";
import {
  SHAPE_KEYS, chordsOf, cleanName, fromService, keptShapes, keptText, shapeLetter,
} from "./shapes.js";
import { TEXT } from "./english.js";

/** @typedef {import("./shapes.js").Held} Held */

const KEPT = "pad-shapes";

/** Chooses the shape that the pad holds. */
export class ShapesView {
  /** @param {import("./pad.js").Pad} pad */
  constructor(pad) {
    this.pad = pad;
    this.row = byId("shape-row");
    this.list = byId("shape-more");
    this.form = byId("shape-form");
    this.words = byId("shape-words");
    /** @type {string[]} the chords of the solo on the sheet */
    this.chords = [];
    /** What was asked for last: the strings and chords. */
    this.asked = "";
    this.open = false;
    /** @type {Held[]} */
    this.ofTune = [];
    /** @type {Held[]} */
    this.others = [];
    /** @type {Held | null} */
    this.held = null;
    /** @type {Record<string, number | null> | null} the shape that is being made; null while none is */
    this.making = null;
    /** What is kept where the browser keeps nothing. */
    this.memory = /** @type {string | null} */ (null);
    this.row.addEventListener("click", (/** @type {Event} */ event) => this.#pressed(event));
    this.list.addEventListener("change", () => this.#chosen());
    byId("shape-keep").addEventListener("click", () => this.#make());
    byId("shape-cancel").addEventListener("click", () => this.#leave(""));
    byId("shape-forget").addEventListener("click", () => this.#forget());
    this.form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      this.#keep();
    });
    this.#draw();
  }

  /**
   * Follows the pad to another tuning, and the chords of another solo.
   *
   * @param {any} arrangement the one on the sheet
   */
  tune(arrangement) {
    this.chords = chordsOf(arrangement);
    this.retuned();
  }

  /** The pad is tuned otherwise now. */
  retuned() {
    this.hold(null);
    void this.#fetch();
  }

  /**
   * The pad is seen now, or hidden.
   *
   * @param {boolean} open
   */
  show(open) {
    this.open = open;
    if (!open) {
      this.#leave("");
    }
    void this.#fetch();
  }

  /**
   * Holds the shape that a key stands for, or lets it go where it is held.
   *
   * @param {KeyboardEvent} event
   * @returns {boolean} whether the key belongs to a shape
   */
  key(event) {
    const index = SHAPE_KEYS.indexOf(event.code);
    const shape = this.shapes[index];
    if (shape === undefined || this.row.offsetParent === null) {
      return false; // there is none, or none is to be held now
    }
    if (!event.repeat) {
      this.hold(this.held?.name === shape.name ? null : shape);
    }
    return true;
  }

  /** All that stand in the row. */
  get shapes() {
    return [...this.ofTune, ...this.own];
  }

  /** The player's own, for the strings as they are tuned. */
  get own() {
    return keptShapes(this.#kept(), this.pad.strings);
  }

  /** @param {Held | null} shape null to open the neck */
  hold(shape) {
    this.#leave("");
    this.held = shape;
    this.pad.hold(shape?.frets ?? null);
    this.#draw();
  }

  async #fetch() {
    const strings = [1, 2, 3, 4, 5].map((string) => this.pad.strings[string]).join(",");
    const asked = new URLSearchParams({ strings, chords: this.chords.slice(0, 8).join(",") }).toString();
    if (!this.open || asked === this.asked) {
      return;
    }
    this.asked = asked;
    try {
      const answer = await fetch(`shapes.json?${asked}`);
      const { shapes, more } = await answer.json();
      if (this.asked === asked) {
        this.ofTune = shapes.map(fromService);
        this.others = more.map(fromService);
        this.#draw();
      }
    } catch {
      this.asked = "";
      this.words.textContent = TEXT.shapes.failed;
    }
  }

  /** @param {Event} event */
  #pressed(event) {
    const chip = /** @type {HTMLElement} */ (event.target).closest("button");
    if (chip !== null) {
      this.hold(this.shapes[Number(chip.dataset.index)] ?? null);
    }
  }

  #chosen() {
    const shape = this.others.find(({ name }) => name === this.list.value);
    if (shape !== undefined) {
      this.hold(shape);
    }
  }

  // ------------------------------------------------------------------------------------------------ shapes of one's own

  #make() {
    const frets = { 1: 0, 2: 0, 3: 0, 4: 0, 5: 0, ...(this.held?.frets ?? {}) };
    this.hold(null);
    this.making = frets;
    this.form.elements.name.value = "";
    this.words.textContent = TEXT.shapes.first;
    this.#askForPlace();
    this.#draw();
  }

  #askForPlace() {
    this.pad.show(this.making ?? {});
    this.takeBack = this.pad.pick(({ string, fret }) => {
      if (this.making !== null) {
        this.making = { ...this.making, [string]: fret };
        this.#askForPlace();
      }
    });
  }

  #keep() {
    const name = cleanName(this.form.elements.name.value);
    const frets = this.making;
    if (frets === null || name === "") {
      this.words.textContent = TEXT.shapes.unnamed;
      this.form.elements.name.focus();
      return;
    }
    const kept = this.#write(keptText(this.#kept(), this.pad.strings, name, frets));
    this.hold({ name, frets, own: true });
    this.words.textContent = kept ? TEXT.shapes.kept(name) : TEXT.shapes.refused;
  }

  #forget() {
    if (this.held !== null) {
      this.#write(keptText(this.#kept(), this.pad.strings, this.held.name, null));
      this.hold(null);
    }
  }

  /** @param {string} words */
  #leave(words) {
    if (this.making !== null) {
      this.making = null;
      this.takeBack?.();
      this.pad.show({});
      this.#draw();
    }
    this.words.textContent = words;
  }

  #kept() {
    try {
      return localStorage.getItem(KEPT) ?? this.memory;
    } catch {
      return this.memory; // storage is refused
    }
  }

  /**
   * @param {string} text
   * @returns {boolean} whether it is kept for longer than the page
   */
  #write(text) {
    this.memory = text;
    try {
      localStorage.setItem(KEPT, text);
      return true;
    } catch {
      return false;
    }
  }

  #draw() {
    const { held } = this;
    const chip = (/** @type {number} */ index, /** @type {string} */ name, /** @type {string} */ letter, /** @type {boolean} */ on) => {
      const made = element(
        "button",
        { type: "button", className: "quiet shape", "aria-pressed": String(on) },
        name,
        element("kbd", { "aria-hidden": "true" }, letter),
        element("span", { className: "unseen" }, TEXT.shapes.key(letter)),
      );
      made.dataset.index = String(index);
      return made;
    };
    const shapes = this.shapes;
    this.row.replaceChildren(
      chip(-1, TEXT.shapes.open, "", held === null),
      ...shapes.map(({ name }, index) => chip(index, name, shapeLetter(index), held?.name === name)),
    );
    this.list.replaceChildren(
      element("option", { value: "" }, TEXT.shapes.more),
      ...this.others.map(({ name }) => element("option", { value: name }, name)),
    );
    this.list.value = this.others.some(({ name }) => name === held?.name) ? held?.name : "";
    this.form.hidden = this.making === null;
    byId("shape-keep").hidden = this.making !== null;
    byId("shape-forget").hidden = held === null || !held.own;
    byId("shape-forget").textContent = TEXT.shapes.forget(held?.name ?? "");
  }
}
