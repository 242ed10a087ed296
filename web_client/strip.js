/**
 * The strip: every measure of the tune in order, each with its score in words and shape.
 *
 * @module strip
 */

import { element } from "./dom.js";
import { signPicture } from "./edit_signs.js";
import { TEXT } from "./english.js";
import { SIGNS } from "./tiers.js";

/** @typedef {import("./messages.js").MeasureScore} MeasureScore */

/**
 * What a measure lacked, the gravest first.
 *
 * @param {MeasureScore} score
 * @returns {{what: "missed" | "wrong" | "extra" | "off", count: number}[]} empty when nothing did
 */
export function lacks(score) {
  const counted = /** @type {const} */ ([
    ["missed", score.missed],
    ["wrong", score.wrong],
    ["extra", score.extra],
    ["off", score.off_time],
  ]);
  return counted.flatMap(([what, count]) => (count > 0 ? [{ what, count }] : []));
}

/** A small stave on which every measure is a button. */
export class Strip {
  /**
   * @param {HTMLElement} list what the measures are put into
   * @param {(measure: number) => void} onChoose called with the measure that the player chose
   */
  constructor(list, onChoose) {
    this.list = list;
    this.onChoose = onChoose;
    /** @type {Map<number, HTMLButtonElement>} */
    this.cells = new Map();
    /** @type {Map<number, string>} */
    this.tiers = new Map();
    /** @type {Map<number, MeasureScore | null>} */
    this.scores = new Map();
    /** @type {Map<number, import("./edit_signs.js").Sign>} */
    this.signs = new Map();
    list.addEventListener("scroll", () => this.#hint(), { passive: true });
    new ResizeObserver(() => this.#hint()).observe(list);
  }

  /**
   * Shows the measures of an arrangement, without scores.
   *
   * @param {number[]} numbers
   * @param {Map<number, string>} tiers by measure; empty where all are of one
   */
  show(numbers, tiers) {
    this.cells.clear();
    this.scores.clear();
    this.tiers = tiers;
    const items = numbers.map((number) => {
      const cell = element("button", { type: "button", className: "cell" });
      cell.addEventListener("click", () => this.onChoose(number));
      this.cells.set(number, cell);
      this.score(number, null);
      return element("li", {}, cell);
    });
    this.list.replaceChildren(...items);
    this.#hint();
  }

  /**
   * Shows which measures are played.
   *
   * @param {number} first
   * @param {number} last
   */
  range(first, last) {
    for (const [number, cell] of this.cells) {
      cell.classList.toggle("aside", number < first || number > last);
    }
  }

  /**
   * Shows which measures are locked or edited.
   *
   * @param {Map<number, import("./edit_signs.js").Sign>} signs
   */
  sign(signs) {
    this.signs = signs;
    for (const [number, score] of this.scores) {
      this.score(number, score);
    }
  }

  /**
   * @param {number} number of the measure
   * @param {MeasureScore | null} score null for none yet
   */
  score(number, score) {
    const cell = this.cells.get(number);
    if (cell === undefined) {
      return;
    }
    const lacking = score === null ? [] : lacks(score);
    const tier = this.tiers.get(number) ?? "";
    const sign = this.signs.get(number);
    const signed = sign === undefined ? "" : `; ${TEXT.edit.signs[sign]}`;
    const full = `${TEXT.strip.full(number, score, lacking, tier)}${signed}`;
    const more = TEXT.strip.more(score, lacking);
    this.scores.set(number, score);
    cell.title = score === null && sign === undefined ? "" : full;
    cell.dataset.clean = score === null ? "" : String(score.clean);
    cell.replaceChildren(
      element("span", { className: "unseen" }, full),
      element(
        "span",
        { className: "cell-number", "aria-hidden": "true" },
        String(number),
        ...(sign === undefined ? [] : [" ", signPicture(sign)]),
        ...(tier === "" ? [] : [element("span", { className: "cell-tier" }, SIGNS[tier], " ", TEXT.strip.tiers[tier])]),
      ),
      element(
        "span",
        { className: "cell-score", "aria-hidden": "true" },
        element("span", {}, TEXT.strip.brief(score, lacking)),
        ...(more === "" ? [] : [element("small", {}, more)]),
      ),
    );
  }

  /**
   * @param {number} number of the measure
   * @returns {string} how it went, in full
   */
  words(number) {
    return this.cells.get(number)?.querySelector(".unseen")?.textContent ?? "";
  }

  /** Rubs out all scores. */
  clear() {
    for (const number of this.cells.keys()) {
      this.score(number, null);
    }
  }

  /**
   * @param {number | null} number of the measure that sounds
   */
  sound(number) {
    for (const [one, cell] of this.cells) {
      const sounding = one === number;
      if (cell.classList.contains("sounding") !== sounding) {
        cell.classList.toggle("sounding", sounding);
        if (sounding) {
          this.#follow(cell);
        }
      }
    }
  }

  /** After a pass: scrolls the strip, not the page, to the first measure that was not clean, else to its start. */
  rest() {
    const first = [...this.cells.values()].find((cell) => cell.dataset.clean === "false");
    this.list.scrollLeft = 0;
    if (first !== undefined) {
      this.#follow(first);
    }
  }

  /** Marks the ends behind which the strip goes on, for the rules that fade them. */
  #hint() {
    const { scrollLeft, clientWidth, scrollWidth } = this.list;
    this.list.classList.toggle("more-before", scrollLeft > 1);
    this.list.classList.toggle("more-after", scrollLeft + clientWidth < scrollWidth - 1);
  }

  /**
   * Keeps the sounding measure in view inside the strip, without moving the page.
   *
   * @param {HTMLElement} cell
   */
  #follow(cell) {
    const { left, right } = this.list.getBoundingClientRect();
    const own = cell.getBoundingClientRect();
    if (own.left < left || own.right > right) {
      this.list.scrollLeft += own.left - left - own.width / 2; // half of the one before it stays in view
    }
  }
}
