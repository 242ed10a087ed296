/**
 * What is pencilled on sheet and strip as a pass is judged, of the player's own page and of a desk that looks on.
 *
 * @module pencilled
 */

/** Keeps strip and sheet by what is known of the practice. */
export class Pencilled {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./sheet.js").Sheet} sheet
   * @param {import("./strip.js").Strip} strip
   */
  constructor(practice, sheet, strip) {
    this.practice = practice;
    this.sheet = sheet;
    this.strip = strip;
    practice.on("state", (state) => {
      strip.range(state.first, state.last);
      sheet.bracket(state.first, state.last);
      if (!practice.playing) {
        sheet.stand.end();
      }
    });
    practice.on("verdict", ({ verdict, faint }) => sheet.mark(verdict, faint));
    practice.on("measure", (score) => strip.score(score.number, score));
    practice.on("report", (report) => {
      sheet.settle();
      if (!report.whole) {
        this.#rubOutTheRest();
      }
      this.renew();
    });
  }

  /** Rubs out all of the pass before. */
  clear() {
    this.sheet.clear();
    this.strip.clear();
  }

  /** Shows anew how the measures went. */
  renew() {
    this.strip.clear();
    for (const [number, score] of this.practice.scores) {
      this.strip.score(number, score);
    }
    if (this.practice.state !== null) {
      this.strip.range(this.practice.state.first, this.practice.state.last);
    }
  }

  /** Rubs out the rings behind the last note that was heard: what a stop cut off was not missed. */
  #rubOutTheRest() {
    const { arrangement, verdicts, svg } = this.sheet;
    const ids = (arrangement?.measures ?? []).flatMap((/** @type {any} */ measure) =>
      measure.plucks.map((/** @type {{id: string}} */ { id }) => id),
    );
    const heard = ids.map((/** @type {string} */ id) => (verdicts.get(id)?.verdict ?? "missed") !== "missed");
    for (const id of ids.slice(heard.lastIndexOf(true) + 1)) {
      verdicts.delete(id);
      svg?.querySelector(`[data-note="${CSS.escape(id)}"]`)?.remove();
    }
  }
}
