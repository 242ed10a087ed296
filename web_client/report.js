/**
 * After a pass: what it was, in sentences, and what comes next and why.
 *
 * @module report
 */

import { byId, element } from "./dom.js";
import { showTempos } from "./free.js";
import { TEXT } from "./texts.js";

/** @typedef {import("./messages.js").Report} Report */
/** @typedef {import("./messages.js").State} State */

/** The teacher's words in the margin. */
export class ReportView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(clean: boolean) => void} mark called when the player says how the pass was
   */
  constructor(practice, mark) {
    this.practice = practice;
    this.view = byId("report");
    this.head = byId("report-head");
    this.sentences = byId("report-sentences");
    this.rung = byId("report-rung");
    this.files = byId("report-files");
    this.marking = byId("self-mark");
    this.cautions = byId("cautions");
    byId("mark-clean").addEventListener("click", () => mark(true));
    byId("mark-unclean").addEventListener("click", () => mark(false));
    for (const part of /** @type {const} */ (["hello", "ports", "state", "begin", "report", "meter"])) {
      practice.on(part, () => this.#show());
    }
  }

  #show() {
    const { hello, ports, state, report, playing } = this.practice;
    const first = state !== null && state.number === 0 && state.state === "ready";
    this.cautions.hidden = !first || hello === null;
    if (first && hello !== null) {
      byId("cautions-words").textContent = hello.cautions.join(" ");
    }
    byId("no-port").hidden = !first || ports === null || ports.input !== null || state.self_marked;
    this.marking.hidden = playing || this.practice.unmarked === 0;
    this.#showReport(playing ? null : report, state);
  }

  /**
   * @param {Report | null} report
   * @param {State | null} state
   */
  #showReport(report, state) {
    const rung = playable(report?.rung ?? null, state);
    this.view.hidden = report === null && rung === null;
    byId("report-told").hidden = report === null;
    showTempos(byId("report-tempos"), byId("tempos"), report);
    if (report !== null) {
      this.head.textContent = TEXT.report.head(report, this.practice.unmarked !== 0);
      this.sentences.replaceChildren(
        ...report.sentences.map((sentence) => element("p", {}, sentence)),
      );
      this.files.replaceChildren(
        ...[
          [report.take, TEXT.report.take],
          [report.report, TEXT.report.file],
        ].flatMap(([href, words]) => (href ? [element("a", { href, download: "" }, words)] : [])),
      );
    }
    this.rung.hidden = rung === null;
    if (rung !== null) {
      byId("rung-head").textContent = rung.offer_tier ? TEXT.report.offered : TEXT.report.next;
      byId("rung-what").textContent = TEXT.report.rung(rung, this.practice.meter);
      byId("rung-why").textContent = rung.why;
    }
  }
}

/**
 * The rung to show: the state's where it has one, since it may be newer than the report's.
 *
 * @param {import("./messages.js").Rung | null} told
 * @param {State | null} state
 */
function playable(told, state) {
  return state === null || ["counting in", "playing"].includes(state.state) ? null : state.rung ?? told;
}
