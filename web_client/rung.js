/**
 * What comes next and why, and what the coach thinks of what the player chose instead.
 *
 * @module rung
 */

import { byId } from "./dom.js";
import { TEXT } from "./english.js";

/** @typedef {import("./messages.js").Rung} Rung */
/** @typedef {import("./messages.js").TuneLine} TuneLine */

/**
 * The metre in which a rung's tempo is counted.
 *
 * @param {Rung | null} rung
 * @param {TuneLine[]} tunes
 * @param {string} meter of the sheet that is shown
 */
export function meterOf(rung, tunes, meter) {
  return tunes.find((tune) => tune.id === rung?.tune)?.meter ?? meter;
}

/** The slip of the next rung, and the coach's thought. */
export class RungView {
  /** @param {import("./state.js").Practice} practice */
  constructor(practice) {
    this.practice = practice;
    this.view = byId("rung");
    this.thought = byId("thought");
    for (const part of /** @type {const} */ (["tunes", "state", "begin", "report", "meter"])) {
      practice.on(part, () => this.#show());
    }
  }

  #show() {
    const { state, report, playing, tunes, meter } = this.practice;
    // The state's rung may be newer than the report's.
    const rung = playing ? null : (state?.rung ?? report?.rung ?? null);
    this.view.hidden = rung === null;
    if (rung !== null) {
      byId("rung-head").textContent = TEXT.rung.head(rung);
      byId("rung-what").textContent = TEXT.rung.what(rung, meterOf(rung, tunes, meter));
      byId("rung-why").textContent = rung.why;
      byId("rung-sounds").textContent = TEXT.rung.sounds(rung);
    }
    const thinks = playing ? "" : (state?.thinks ?? "");
    this.thought.hidden = thinks === "";
    if (byId("thought-words").textContent !== thinks) {
      byId("thought-words").textContent = thinks;
    }
  }
}
