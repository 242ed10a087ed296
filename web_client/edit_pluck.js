/**
 * The fields in which a chosen pluck is changed, or one is written where nothing stands.
 *
 * @module edit_pluck
 */

import { byId } from "./dom.js";
import { cameFrom, isAs, pitchOf, pluckAt, usualFinger, wrongOf } from "./edit_measure.js";
import { playedWords } from "./marks.js";
import { TEXT } from "./english.js";
import { fraction } from "./written.js";

/** @typedef {import("./edit_measure.js").Measure} Measure */
/** @typedef {import("./edit_measure.js").Pluck} Pluck */
/** @typedef {import("./edit_measure.js").Spot} Spot */
/** @typedef {import("./edit_measure.js").Written} Written */

/**
 * @typedef {(picker: (place: {string: number, fret: number}) => void) => () => void} Pick
 * Hands over the next place of the pad; what it gives takes the question back.
 */

/** The form. */
export class PluckForm {
  /**
   * @param {{write: (written: Written) => void, leaveOut: () => void}} on called with what is to stand there, and when
   *   nothing is to
   * @param {Pick} pick
   */
  constructor(on, pick) {
    this.on = on;
    this.pick = pick;
    /** @type {any} */
    this.form = byId("edit-pluck");
    this.wrong = byId("edit-pluck-wrong");
    /** @type {any} the solo */
    this.arrangement = null;
    /** @type {Measure | null} */
    this.measure = null;
    /** @type {Spot | null} */
    this.spot = null;
    /** @type {(() => void) | null} takes back what the pad was asked */
    this.unpick = null;
    this.form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      this.#write();
    });
    this.form.addEventListener("change", (/** @type {Event} */ event) => this.#change(event));
    this.form.addEventListener("input", () => this.#sounds());
    byId("edit-out").addEventListener("click", () => this.on.leaveOut());
    byId("edit-pick").addEventListener("click", () => this.#pick());
  }

  /**
   * Shows what stands at a place, to be changed.
   *
   * @param {any} arrangement
   * @param {Measure} measure of it
   * @param {Spot} spot
   */
  show(arrangement, measure, spot) {
    this.leave();
    this.arrangement = arrangement;
    this.measure = measure;
    this.spot = spot;
    const pluck = this.#standing();
    const { string, fret, finger, technique, from_fret } = this.form.elements;
    string.value = String(spot.string);
    fret.value = String(pluck?.fret ?? 0);
    finger.value = pluck?.finger ?? usualFinger(spot.string);
    technique.value = pluck?.technique ?? "pick";
    from_fret.value = String(pluck?.from_fret ?? cameFrom(measure, spot));
    byId("edit-write").textContent = pluck === null ? TEXT.edit.add : TEXT.edit.change;
    this.form.hidden = false;
    if (pluck === null && document.activeElement === byId("edit-out")) {
      byId("edit-write").focus(); // the keys would be those of the transport
    }
    byId("edit-out").hidden = pluck === null;
    this.#renew();
  }

  /** Nothing is chosen any more. */
  leave() {
    this.spot = null;
    this.form.hidden = true;
    this.#endPick();
  }

  /** @returns {Pluck | null} what stands at the place */
  #standing() {
    return this.measure === null || this.spot === null ? null : pluckAt(this.measure, this.spot);
  }

  /** @returns {Written} as the fields have it */
  #written() {
    const { string, fret, finger, technique, from_fret } = this.form.elements;
    const slurred = technique.value !== "pick";
    const number = (/** @type {any} */ field) => (field.value.trim() === "" ? Number.NaN : Number(field.value));
    return {
      string: Number(string.value),
      fret: number(fret),
      finger: slurred ? null : finger.value,
      technique: technique.value,
      from_fret: slurred ? number(from_fret) : null,
    };
  }

  #write() {
    const written = this.#written();
    const standing = this.#standing();
    const wrong = wrongOf(written);
    const same = standing !== null && isAs(standing, written);
    this.wrong.textContent = wrong !== "" ? TEXT.edit[wrong] : same ? TEXT.edit.sameAsBefore : "";
    if (wrong === "" && !same) {
      this.on.write(written);
    }
  }

  /** @param {Event} event */
  #change(event) {
    const { string, finger, from_fret } = this.form.elements;
    if (event.target === string && this.measure !== null && this.spot !== null) {
      finger.value = usualFinger(Number(string.value));
      from_fret.value = String(cameFrom(this.measure, { at: this.spot.at, string: Number(string.value) }));
    }
    this.#renew();
  }

  #renew() {
    const slurred = this.form.elements.technique.value !== "pick";
    byId("edit-finger").hidden = slurred;
    byId("edit-from").hidden = !slurred;
    this.wrong.textContent = "";
    this.#sounds();
  }

  /** Says what the place sounds, and what the melody has there. */
  #sounds() {
    if (this.measure === null || this.spot === null) {
      return;
    }
    const written = this.#written();
    const at = fraction(this.spot.at);
    const note = this.measure.melody.find((one) => fraction(one.moved ?? one.at) === at);
    byId("edit-sounds").textContent = TEXT.edit.sounds(
      wrongOf(written) === "" ? playedWords({ pitch: pitchOf(this.arrangement, written.string, written.fret) }) : null,
      note === undefined ? null : playedWords({ pitch: note.pitch }),
    );
  }

  #pick() {
    if (this.unpick !== null) {
      this.#endPick();
      return;
    }
    byId("edit-pick").textContent = TEXT.edit.picking;
    byId("edit-pick").setAttribute("aria-pressed", "true");
    this.unpick = this.pick(({ string, fret }) => {
      this.unpick = null;
      this.#endPick();
      const fields = this.form.elements;
      if (fields.string.value !== String(string)) {
        fields.string.value = String(string);
        fields.string.dispatchEvent(new Event("change", { bubbles: true }));
      }
      fields.fret.value = String(fret);
      this.#renew();
    });
  }

  #endPick() {
    this.unpick?.();
    this.unpick = null;
    byId("edit-pick").textContent = TEXT.edit.pick;
    byId("edit-pick").setAttribute("aria-pressed", "false");
  }
}
