/**
 * Start, stop, again, next: the buttons at the foot of the page, and what stands beside them.
 *
 * @module transport
 */

import { byId } from "./dom.js";
import { TEXT } from "./english.js";

/** @typedef {import("./state.js").Practice} Practice */

/** @typedef {"toggle" | "stop" | "again" | "next" | "clean" | "unclean"} Action */

/** The bar at the foot of the page. */
export class Transport {
  /**
   * @param {Practice} practice
   * @param {(action: Action) => void} act
   */
  constructor(practice, act) {
    this.practice = practice;
    this.toggle = byId("toggle");
    this.again = byId("again");
    this.next = byId("next");
    this.tempo = byId("tempo-now");
    this.unit = byId("tempo-unit");
    this.halves = byId("tempo-halves");
    this.place = byId("place");
    this.toReport = byId("to-report");
    this.toggle.addEventListener("click", () => act("toggle"));
    this.again.addEventListener("click", () => act("again"));
    this.next.addEventListener("click", () => act("next"));
    for (const part of /** @type {const} */ (["state", "line", "begin", "place", "report", "meter"])) {
      practice.on(part, () => this.#show());
    }
  }

  /**
   * @param {string} words where the pass is, empty for nowhere
   */
  say(words) {
    if (this.place.textContent !== words) {
      this.place.textContent = words;
    }
  }

  #show() {
    const { state, playing, going, up, report } = this.practice;
    const ready = up && state !== null && state.digest !== "";
    this.toggle.disabled = !ready && !playing; // a pass can be stopped also while the line is down
    this.toggle.querySelector(".label").textContent = going ? TEXT.transport.stop : TEXT.transport.start;
    this.again.disabled = !ready || playing || state.number === 0;
    this.next.disabled = !ready || playing || state.rung === null;
    if (state === null) {
      return;
    }
    const tempo = this.#tempoOf(state);
    this.tempo.textContent = tempo === null ? "" : TEXT.number(tempo);
    this.unit.textContent = tempo === null ? TEXT.transport.own : TEXT.transport.unit;
    this.halves.textContent = tempo === null ? "" : TEXT.transport.jamBeats(tempo, this.practice.meter);
    const told = !playing && report !== null;
    this.toReport.hidden = !told;
    if (told) {
      this.say("");
      this.toReport.textContent = TEXT.report.head(report, this.practice.unmarked !== 0, this.practice.jam);
    } else if (!playing) {
      this.say(TEXT.transport.between(state));
    }
  }

  /**
   * The tempo of the pass, or of the next one; in free time that of the player, as far as it is known.
   *
   * @param {import("./messages.js").State} state
   * @returns {number | null}
   */
  #tempoOf(state) {
    const { playing, begin, place } = this.practice;
    if (playing && begin !== null) {
      return begin.free ? (place === null ? null : Math.round(place.tempo)) : begin.tempo;
    }
    return state.free_time ? null : state.tempo;
  }
}
