/**
 * Words pinned to a measure of a student's tune: written, read or not, and taken away again.
 *
 * @module desk_pins
 */

import { ask } from "./asked.js";
import { DESK } from "./desk_english.js";
import { byId, element } from "./dom.js";

/** @typedef {{id: string, measure: number, words: string, by: string, made: string, seen: boolean}} Pin */

/** The pinned words. */
export class PinsView {
  /**
   * @param {{choose: (measure: number) => void, show: (pins: Pin[]) => void, say: (words: string) => void}} on called when
   *   a measure is to be brought into view, when there are others, and when something was refused
   */
  constructor(on) {
    this.on = on;
    this.student = "";
    this.tune = "";
    this.measure = 0;
    /** @type {Pin[]} */
    this.pins = [];
    this.form = byId("pin");
    this.form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      void this.#pin();
    });
  }

  /**
   * Shows those of a student and a tune.
   *
   * @param {string} student empty for none
   * @param {string} tune
   */
  async of(student, tune) {
    if (student !== this.student || tune !== this.tune) {
      this.form.reset();
      [this.student, this.tune] = [student, tune];
      this.#show([]);
    }
    await this.renew();
  }

  /** Asks anew: they may have been read, or another teacher has pinned some. */
  async renew() {
    const { student, tune } = this;
    if (student === "" || tune === "") {
      return;
    }
    try {
      const query = new URLSearchParams({ student, tune });
      const { pins } = await ask(`pins.json?${query}`);
      if (student === this.student && tune === this.tune) {
        this.#show(pins);
      }
    } catch (error) {
      this.on.say(/** @type {Error} */ (error).message);
    }
  }

  async #pin() {
    const { student, tune, measure } = this;
    const words = this.form.elements.words.value.trim();
    if (words === "") {
      this.form.elements.words.focus();
      return;
    }
    await this.#change(ask("pins", { student, tune, measure, words }), () => {
      this.form.reset();
      this.on.say(DESK.pins.pinned);
    });
  }

  /**
   * @param {Promise<any>} asked
   * @param {() => void} done
   */
  async #change(asked, done) {
    try {
      await asked;
      done();
    } catch (error) {
      this.on.say(/** @type {Error} */ (error).message);
      return;
    }
    await this.renew();
  }

  /** @param {Pin[]} pins */
  #show(pins) {
    if (JSON.stringify(pins) === JSON.stringify(this.pins) && byId("pins").children.length === pins.length) {
      return;
    }
    this.pins = [...pins].sort((a, b) => a.measure - b.measure);
    byId("pins-none").hidden = pins.length > 0;
    byId("pins").replaceChildren(...this.pins.map((pin) => this.#item(pin)));
    this.on.show(this.pins);
  }

  /** @param {Pin} pin */
  #item(pin) {
    const go = element("button", { type: "button", className: "quiet" }, DESK.pins.measure(pin.measure));
    go.addEventListener("click", () => this.on.choose(pin.measure));
    const remove = element("button", { type: "button", className: "quiet", "aria-label": DESK.pins.removeLong(pin.measure) }, DESK.pins.remove);
    remove.addEventListener("click", () => void this.#change(ask(`pins/${pin.id}/remove`, {}), () => byId("pins-head").focus()));
    return element(
      "li",
      { className: pin.seen ? "pin-slip" : "pin-slip unread" },
      element("p", { className: "teacher-words" }, pin.words),
      element("p", { className: "hint" }, DESK.pins.facts(pin)),
      element("p", { className: "buttons" }, go, remove),
    );
  }
}
