/**
 * Other ways through a measure: fetched when they are wanted, each drawn as a small tab with its sentence.
 *
 * @module ways
 */

import { byId, element } from "./dom.js";
import { smallTab } from "./edit_drawing.js";
import { differing, positions } from "./edit_measure.js";
import { pictureOf } from "./edit_picture.js";
import { TEXT } from "./english.js";

/** @typedef {import("./edit_measure.js").Measure} Measure */

/** @typedef {{number: number, extra: number, sentence: string, measure: Measure}} Way */

/** Where a sentence ends. */
const END = /(?<=\.)\s+/;

const WIDTH = 288;
const GAP = 14;

/** The list of ways. */
export class WaysView {
  /**
   * @param {(url: string, signal: AbortSignal) => Promise<Response>} get
   * @param {(way: number) => void} take called with the number of the way that is to stand there
   * @param {import("./edit_heard.js").MeasureHeard} heard
   */
  constructor(get, take, heard) {
    this.get = get;
    this.take = take;
    this.heard = heard;
    this.box = byId("edit-ways");
    this.words = byId("ways-words");
    this.list = byId("ways");
    /** @type {{arrangement: any, measure: Measure} | null} */
    this.of = null;
    /** What is shown or being fetched, by digest and measure. */
    this.wanted = "";
    this.going = new AbortController();
    this.box.addEventListener("toggle", () => this.#fetch());
  }

  /**
   * @param {any} arrangement
   * @param {Measure} measure of it
   */
  show(arrangement, measure) {
    this.of = { arrangement, measure };
    this.#fetch();
  }

  /** Nothing is wanted any more. */
  leave() {
    this.of = null;
    this.wanted = "";
    this.going.abort();
    this.#show([]);
    this.words.textContent = "";
  }

  async #fetch() {
    if (this.of === null || !this.box.open) {
      return;
    }
    const { arrangement, measure } = this.of;
    const wanted = `arrangements/${arrangement.digest}.ways.json?measure=${measure.number}`;
    if (this.wanted === wanted) {
      return;
    }
    this.going.abort();
    this.going = new AbortController();
    this.wanted = wanted;
    this.#show([]);
    this.words.textContent = TEXT.ways.looking;
    try {
      const answer = await this.get(wanted, this.going.signal);
      const { standing, ways } = await answer.json();
      if (this.wanted === wanted) {
        this.words.textContent = ways.length === 0 ? TEXT.ways.none : "";
        this.#show(ways.map((/** @type {Way} */ way) => this.#item(way, standing, arrangement.slot)));
      }
    } catch (error) {
      if (this.wanted === wanted) {
        this.wanted = ""; // asked for again when the list is opened again
        this.words.textContent = TEXT.ways.failed(/** @type {Error} */ (error).message);
      }
    }
  }

  /** @param {HTMLElement[]} items in place of those before; who was there by keys goes on from their heading */
  #show(items) {
    if (this.list.contains(document.activeElement)) {
      this.box.querySelector("summary").focus();
    }
    this.heard.stop();
    this.list.replaceChildren(...items);
  }

  /**
   * @param {Way} way
   * @param {Measure} standing
   * @param {string} slot
   */
  #item({ number, extra, sentence, measure }, standing, slot) {
    const tab = smallTab(measure, positions(measure, slot, false), {
      width: WIDTH,
      gap: GAP,
      marked: differing(standing, measure),
    });
    const take = element(
      "button",
      { type: "button", "aria-label": TEXT.ways.takeFull(number, measure.number) },
      TEXT.ways.take,
    );
    take.addEventListener("click", () => this.take(number));
    const listen = element("button", { type: "button", className: "quiet" });
    this.heard.on(listen, TEXT.ways.heard(number), () => ({ measure, slot }));
    const [first, ...others] = sentence.split(END);
    return element(
      "li",
      {},
      element(
        "div",
        { className: "way-top" },
        element("h4", {}, TEXT.ways.head(number), element("span", { className: "hint" }, ` ${TEXT.ways.extra(extra)}`)),
        listen,
        take,
      ),
      element("div", { className: "edit-scroll" }, pictureOf(tab, TEXT.ways.picture(number, measure.number))),
      element("p", { className: "hint" }, first),
      ...(others.length === 0 ? [] : [more(number, others)]),
    );
  }
}

/**
 * What is told of a way on demand.
 *
 * @param {number} number of the way
 * @param {string[]} sentences
 * @returns {HTMLElement}
 */
function more(number, sentences) {
  const [seen, unseen] = TEXT.ways.more(number);
  const words = sentences.map((one) => element("p", { className: "hint" }, one));
  return element("details", {}, element("summary", {}, seen, element("span", { className: "unseen" }, unseen)), ...words);
}
