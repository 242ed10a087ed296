/**
 * After a pass: what it was, its files, and how the player marks it.
 *
 * @module report
 */

import { byId, element } from "./dom.js";
import { showTempos } from "./free.js";
import { TEXT } from "./english.js";

/** @typedef {import("./messages.js").Report} Report */

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
    const heard = ports === null || ports.input !== null || this.practice.hears !== "";
    byId("no-port").hidden = !first || heard || state.self_marked;
    this.marking.hidden = playing || this.practice.unmarked === 0;
    this.#showReport(playing ? null : report);
  }

  /** @param {Report | null} report */
  #showReport(report) {
    this.view.hidden = report === null;
    showTempos(byId("report-tempos"), byId("tempos"), report);
    if (report !== null) {
      this.head.textContent = TEXT.report.head(report, this.practice.unmarked !== 0, this.practice.jam);
      this.files.replaceChildren(
        ...[
          [report.take, TEXT.report.take],
          [report.report, TEXT.report.file],
        ].flatMap(([href, words]) => (href ? [element("a", { href, download: "" }, words)] : [])),
      );
    }
  }
}
