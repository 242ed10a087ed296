/**
 * Start, stop, again, next: the buttons at the foot of the page, and what stands beside them.
 *
 * @module transport
 */

import { byId } from "./dom.js";
import { TEXT } from "./texts.js";

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
    this.halves = byId("tempo-halves");
    this.place = byId("place");
    this.toReport = byId("to-report");
    this.toggle.addEventListener("click", () => act("toggle"));
    this.again.addEventListener("click", () => act("again"));
    this.next.addEventListener("click", () => act("next"));
    for (const part of /** @type {const} */ (["state", "line", "begin", "report", "meter"])) {
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
    const { state, playing, going, up, begin, report } = this.practice;
    const ready = up && state !== null && state.digest !== "";
    this.toggle.disabled = !ready;
    this.toggle.querySelector(".label").textContent = going ? TEXT.transport.stop : TEXT.transport.start;
    this.again.disabled = !ready || playing || state.number === 0;
    this.next.disabled = !ready || playing || state.rung === null;
    if (state === null) {
      return;
    }
    const tempo = playing && begin !== null ? begin.tempo : state.tempo;
    this.tempo.textContent = TEXT.number(tempo);
    this.halves.textContent = TEXT.transport.jamBeats(tempo, this.practice.meter);
    const told = !playing && report !== null;
    this.toReport.hidden = !told;
    if (told) {
      this.say("");
      this.toReport.textContent = TEXT.report.head(report, this.practice.unmarked !== 0);
    } else if (!playing) {
      this.say(TEXT.transport.between(state));
    }
  }
}
