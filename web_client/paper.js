/**
 * The paper: title, strip and sheet of the solo that is chosen or played, and what is pencilled on them.
 *
 * @module paper
 */

import { byId, calm, element } from "./dom.js";
import { MeasureChoice } from "./mix.js";
import { Pencilled } from "./pencilled.js";
import { NARROW, Sheet } from "./sheet.js";
import { Strip } from "./strip.js";
import { TEXT } from "./english.js";
import { tiersOf } from "./tiers.js";
import { BROAD, View, layoutOf } from "./view.js";

/** What lies on the desk. */
export class Paper {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(settings: Record<string, any>) => void} change
   * @param {{solo: (arrangement: any) => void, choose: (measure: number) => void,
   *   look: (measure: number, ways: boolean) => void, side: (left: boolean) => void}} on called when another solo is shown,
   *   when a measure of the strip is chosen, when one is to be explained, or edited with the ways through it, and when
   *   the page is laid out for the other hand
   */
  constructor(practice, change, on) {
    this.practice = practice;
    this.on = on;
    this.narrow = matchMedia(NARROW);
    this.broad = matchMedia(BROAD);
    this.sheet = new Sheet(byId("sheet"), () => byId("foot").getBoundingClientRect().height);
    new ResizeObserver(() => this.sheet.stand.fit()).observe(byId("foot")); // the pad opens
    this.strip = new Strip(byId("strip"), (measure) => this.go(measure));
    this.pencilled = new Pencilled(practice, this.sheet, this.strip);
    this.choice = new MeasureChoice(practice, (measure) => this.strip.words(measure), change, on.look);
    this.view = new View((look, sized) => this.#look(look, sized));
    this.sheet.stand.far = this.view.look.size === "far";
    /** The sheet that is shown or being fetched. */
    this.digest = "";
    /** The pass whose report was brought into view. */
    this.toldPass = 0;
    for (const window of [this.narrow, this.broad]) {
      window.addEventListener("change", () => void this.#show());
    }
    practice.on("state", (state) => {
      if (state.digest !== this.digest || state.digest === "") {
        void this.#show();
      }
      this.#showHowItWent();
    });
    practice.on("report", () => {
      this.choice.renew();
      this.#showHowItWent();
    });
  }

  /**
   * Makes room for a pass.
   *
   * @param {import("./messages.js").Begin} begin
   */
  begin({ first, last }) {
    this.pencilled.clear();
    this.choice.leave();
    this.sheet.stand.begin(first, last);
  }

  /**
   * Chooses a measure, and brings it into view.
   *
   * @param {number} measure
   */
  go(measure) {
    this.choice.choose(measure);
    this.sheet.reveal(measure);
    this.on.choose(measure);
  }

  /**
   * Has a mark stand out among the others, and brings it into view.
   *
   * @param {string | null} note whose mark it is, as the sheet names it; null for none
   * @param {number} measure in which it stands
   */
  look(note, measure) {
    for (const mark of this.sheet.svg?.querySelectorAll(".looked-at") ?? []) {
      mark.classList.remove("looked-at");
    }
    if (note !== null) {
      this.sheet.svg?.querySelector(`[data-note="${CSS.escape(note)}"]`)?.classList.add("looked-at");
      this.sheet.reveal(measure);
    }
  }

  /** Scrolls to the strip, with the sheet below it. */
  showStrip() {
    byId("strip").scrollIntoView({ behavior: calm(), block: "start" });
  }

  /**
   * @param {import("./view.js").Look} look
   * @param {boolean} sized whether its size has changed
   */
  #look({ size, side }, sized) {
    this.sheet.stand.far = size === "far";
    this.on.side(side === "left");
    if (sized) {
      void this.#show();
    } else {
      this.sheet.stand.renew();
    }
  }

  #layout() {
    return layoutOf(this.view.look.size, { narrow: this.narrow.matches, broad: this.broad.matches });
  }

  async #show() {
    const { state } = this.practice;
    if (state === null) {
      return;
    }
    this.digest = state.digest;
    byId("title").textContent = state.title || TEXT.sheet.untitled;
    if (state.digest === "") {
      this.sheet.say(state.waiting || TEXT.sheet.writing);
      this.strip.show([], new Map());
      this.choice.renew();
      for (const told of ["facts", "remarks", "papers"]) {
        byId(told).replaceChildren();
      }
      return;
    }
    try {
      const arrangement = await this.sheet.load(state.digest, this.#layout());
      if (arrangement !== null) {
        byId("facts").textContent = TEXT.sheet.facts(arrangement);
        byId("remarks").textContent = arrangement.remarks.join(" ");
        byId("papers").replaceChildren(TEXT.sheet.papers, ...papersOf(arrangement));
        this.practice.read(arrangement.meter);
        this.on.solo(arrangement);
        const numbers = arrangement.measures.map((/** @type {any} */ measure) => measure.number);
        this.strip.show(numbers, tiersOf(arrangement));
        this.pencilled.renew();
        this.choice.renew();
      }
    } catch (error) {
      if (this.digest === state.digest) {
        this.digest = ""; // the next word of the service tries again
        this.sheet.say(TEXT.sheet.failed(/** @type {Error} */ (error).message));
      }
    }
  }

  /** Brings strip and report into view after a pass; with the pad open on a small screen, strip and sheet. */
  #showHowItWent() {
    const { playing, report } = this.practice;
    if (playing || report === null || report.number === this.toldPass) {
      return;
    }
    this.toldPass = report.number;
    this.strip.rest();
    byId("margin").scrollTop = 0; // the report is its first slip
    if (this.narrow.matches && !byId("pad").hidden) {
      this.showStrip();
    } else {
      window.scrollTo({ top: 0, behavior: calm() });
    }
  }
}

/**
 * Links to the solo on paper and in open formats.
 *
 * @param {any} arrangement
 * @returns {HTMLElement[]}
 */
function papersOf(arrangement) {
  return TEXT.sheet.kinds.map(([suffix, words]) =>
    element(
      "a",
      {
        href: `arrangements/${arrangement.digest}.${suffix}`,
        download: `${arrangement.tune}-${arrangement.tier}.${suffix}`,
      },
      words,
    ),
  );
}
