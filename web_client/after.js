/**
 * After a pass: the measures that its sentences speak of, its moments to look at again, and its roll note by note.
 *
 * @module after
 */

import { countedMeasures, piecesOf } from "./after_links.js";
import { showRoll } from "./after_plot.js";
import { byId, element } from "./dom.js";
import { fetched } from "./fetched.js";
import { extraKey, lastPass, momentsOf, reachedNotes } from "./moments.js";
import { TEXT } from "./english.js";
import { fraction } from "./written.js";

/**
 * @typedef {import("./messages.js").Report} Report
 * @typedef {import("./moments.js").Moment} Moment
 * @typedef {import("./moments.js").LastPass} LastPass
 * @typedef {{go: (measure: number) => void, look: (key: string | null, measure: number) => void,
 *   sheet: import("./sheet.js").Sheet}} OnPaper
 * What the view needs of the paper: to choose a measure and bring it into view, to bring the mark of a note into view
 * and have it stand out (null for none), and the sheet.
 */

/** Stops at the start of a piece: they belong to the link before it. */
const STOPS = /^[).,;:]+/;

/** The parts of the report slip that come of the report's file. */
export class AfterView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {OnPaper} paper
   * @param {import("./after_take.js").TakeView} take
   */
  constructor(practice, paper, take) {
    this.practice = practice;
    this.paper = paper;
    this.take = take;
    this.list = byId("moments");
    /** @type {Moment[]} of the pass that is told */
    this.moments = [];
    /** @type {LastPass | null} as far as its file is there */
    this.pass = null;
    /** @type {Report | null} the one that is told */
    this.report = null;
    /** @type {any} the solo that was played, and its digest */
    this.arrangement = null;
    this.digest = "";
    practice.on("report", (report) => void this.#tell(report));
    practice.on("begin", ({ again }) => !again && this.#clear());
    practice.on("state", () => this.#follow());
  }

  /**
   * The player touched the sheet.
   *
   * @param {import("./sheet.js").Tapped} tapped
   */
  tapped({ id, measure, verdict }) {
    if (this.pass === null || this.practice.playing || verdict === null || verdict.verdict === "on time") {
      return;
    }
    const key = id ?? extraKey(verdict);
    this.#current(this.moments.find((moment) => moment.key === key) ?? null);
    this.paper.look(key, measure);
    const pluck = this.#measure(measure)?.plucks.find((/** @type {any} */ one) => one.id === id);
    void this.take.moment(measure, fraction(pluck?.at ?? verdict.at ?? "0"));
  }

  /** Pencils the pass in on a sheet that bears no marks: the page was loaded anew, or the sheet came late. */
  pencil() {
    const { pass, report } = this;
    const { sheet } = this.paper;
    if (pass === null || report === null || sheet.arrangement?.digest !== this.digest || sheet.verdicts.size > 0) {
      return;
    }
    const { number } = report;
    for (const note of reachedNotes(pass)) {
      sheet.mark({ ...note, number });
    }
    for (const extra of pass.extras) {
      sheet.mark({ ...extra, number, id: null, verdict: "extra", offset_ms: null });
    }
  }

  // -------------------------------------------------------------------------------------------- what is told

  /** @param {Report} report */
  async #tell(report) {
    this.#clear();
    this.report = report;
    this.digest = this.practice.begin?.digest ?? this.practice.state?.digest ?? "";
    this.#showSentences();
    if (report.report === "") {
      return;
    }
    try {
      const [file, arrangement] = await Promise.all([
        fetched(report.report).then((answer) => answer.json()),
        fetched(`arrangements/${this.digest}.json`).then((answer) => answer.json()),
      ]);
      if (this.report === report) {
        this.pass = lastPass(file, this.digest);
        this.arrangement = arrangement;
        this.#showAll(report);
      }
    } catch {
      if (this.report === report) {
        byId("after-words").textContent = TEXT.after.failed;
      }
    }
  }

  /** @param {Report} report */
  #showAll(report) {
    const { pass, arrangement } = this;
    if (pass === null) {
      return;
    }
    this.pencil();
    this.moments = momentsOf(pass, arrangement);
    const heard = pass.notes.some(({ verdict }) => verdict !== "missed");
    this.#showSentences();
    this.#showMoments(pass);
    showRoll(pass.positions, arrangement);
    this.take.offer(heard ? report : null, arrangement);
    byId("closer").hidden = !heard;
    byId("after-words").textContent = !report.whole && heard ? TEXT.after.cut : "";
  }

  #clear() {
    this.report = null;
    this.pass = null;
    this.moments = [];
    this.list.replaceChildren();
    this.paper.look(null, 0);
    byId("after-words").textContent = "";
    byId("closer").hidden = true;
    this.take.offer(null, null);
  }

  /** What was told goes with its solo. */
  #follow() {
    const { report, playing } = this.practice;
    if (this.report !== null && !playing && report === null) {
      this.#clear();
    }
  }

  // -------------------------------------------------------------------------------------------- sentences

  #showSentences() {
    const { report, pass } = this;
    if (report === null) {
      return;
    }
    const known = new Set(report.measures.map(({ number }) => number));
    byId("report-sentences").replaceChildren(
      ...report.sentences.map((sentence) => {
        const counted = countedMeasures(sentence, pass?.said ?? [], report.measures.length);
        return element("p", {}, ...this.#linked(piecesOf(sentence, known, counted)));
      }),
    );
  }

  /**
   * @param {import("./after_links.js").Piece[]} pieces
   * @returns {(Node | string)[]} each link together with the stops behind it, so that no line begins with one
   */
  #linked(pieces) {
    return pieces.flatMap((piece, index) => {
      if (typeof piece === "string") {
        return index === 0 ? [piece] : [piece.replace(STOPS, "")];
      }
      const behind = pieces[index + 1];
      const stops = typeof behind === "string" ? (STOPS.exec(behind) ?? []) : [];
      return [element("span", { className: "together" }, this.#link(piece.words, piece.measure), ...stops)];
    });
  }

  /**
   * @param {string} words
   * @param {number} measure
   */
  #link(words, measure) {
    const button = element("button", { type: "button", className: "link", "aria-label": TEXT.after.link(measure) }, words);
    button.addEventListener("click", () => {
      this.paper.go(measure);
      this.take.from(measure);
    });
    return button;
  }

  // -------------------------------------------------------------------------------------------- moments

  /** @param {LastPass} pass */
  #showMoments(pass) {
    byId("moments-none").textContent = this.moments.length === 0 ? TEXT.after.none : "";
    const ofTime = this.moments.some(({ kind }) => kind === "early" || kind === "late");
    byId("moments-lean").textContent = ofTime ? TEXT.after.lean(pass.lean) : "";
    this.list.replaceChildren(
      ...this.moments.map((moment) => {
        const button = element(
          "button",
          { type: "button", className: "quiet" },
          element("span", { className: "moment-where" }, TEXT.after.where(moment, this.#measure(moment.measure))),
          " ",
          element("span", { className: "moment-what" }, TEXT.after.what(moment)),
        );
        button.addEventListener("click", () => this.#lookAt(moment));
        return element("li", {}, button);
      }),
    );
  }

  /** @param {Moment} moment */
  #lookAt(moment) {
    this.#current(moment);
    this.paper.look(moment.key, moment.measure);
    void this.take.moment(moment.measure, moment.at);
  }

  /** @param {Moment | null} moment */
  #current(moment) {
    for (const [index, button] of [...this.list.querySelectorAll("button")].entries()) {
      if (this.moments[index] === moment) {
        button.setAttribute("aria-current", "true");
      } else {
        button.removeAttribute("aria-current");
      }
    }
  }

  // -------------------------------------------------------------------------------------------- small things

  /** @param {number} number */
  #measure(number) {
    return this.arrangement.measures.find((/** @type {any} */ one) => one.number === number);
  }
}
