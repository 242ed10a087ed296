/**
 * A sitting: the minutes that there are, how many were played, and the rest that is due.
 *
 * @module sitting
 */

import { byId } from "./dom.js";
import { TEXT } from "./english.js";

/** The slips of the sitting. */
export class SittingView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(message: import("./messages.js").Message) => void} send
   */
  constructor(practice, send) {
    this.practice = practice;
    this.form = byId("sitting-form");
    this.bar = byId("sitting-bar");
    this.form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      send({ kind: "sitting", minutes: Number(this.form.elements.minutes.value) });
    });
    byId("sitting-end").addEventListener("click", () => send({ kind: "sitting", minutes: 0 }));
    for (const part of /** @type {const} */ (["state", "line", "begin", "report"])) {
      practice.on(part, () => this.#show());
    }
  }

  #show() {
    const { state, up, playing, report } = this.practice;
    const sitting = state?.sitting ?? null;
    byId("sitting").hidden = sitting !== null;
    byId("sitting-on").hidden = sitting === null;
    byId("sitting-begin").disabled = byId("sitting-end").disabled = !up || state === null;
    if (sitting !== null) {
      byId("sitting-words").textContent = TEXT.sitting.played(sitting);
      this.bar.max = sitting.minutes;
      this.bar.value = Math.min(sitting.played, sitting.minutes);
    }
    const rest = playing ? "" : report?.rest || (sitting?.rest ? TEXT.sitting.rest : "");
    byId("rest").hidden = rest === "";
    byId("rest-words").textContent = rest;
  }
}
