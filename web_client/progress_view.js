/**
 * Puts pictures of progress into the page: the drawing, its key, and the table on demand.
 *
 * @module progress_view
 */

import { drawn, element } from "./dom.js";
import { KEY } from "./progress_picture.js";
import { WORDS } from "./english.js";

/**
 * @typedef {import("./progress_picture.js").Part} Part
 * @typedef {import("./progress_picture.js").Picture} Picture
 * @typedef {import("./progress_picture.js").Table} Table
 */

/** Pixels below which no picture can be read; a narrower one is made smaller as a whole. */
const NARROWEST = 240;

/** A picture's place on the page, a figure of its own. */
export class Figure {
  /**
   * @param {HTMLElement} figure empty; its id names what is in it
   * @param {string} none what is said where there is nothing to show
   */
  constructor(figure, none) {
    this.figure = figure;
    this.none = none;
    this.head = element("h2");
    this.words = element("p", { className: "hint" });
    this.key = element("ul", { className: "key", "aria-hidden": "true" });
    this.drawing = element("div", { className: "drawing" });
    this.holder = element("div", { className: "table", tabIndex: 0, role: "region" });
    this.summary = element("summary");
    this.details = element("details", {}, this.summary, this.holder);
    /** @type {Picture | null} */
    this.picture = null;
    this.details.addEventListener("toggle", () => this.#fill());
    figure.append(this.head, this.words, this.key, this.drawing, this.details);
  }

  /** Pixels that a picture may be wide. */
  get width() {
    return Math.max(NARROWEST, Math.floor(this.drawing.clientWidth));
  }

  /**
   * @param {Picture | null} picture null for none
   * @param {string} name what stands above it where there is none
   */
  show(picture, name) {
    this.picture = picture;
    this.head.textContent = picture?.title ?? name;
    this.words.textContent = picture?.desc ?? this.none;
    this.key.replaceChildren(...(picture?.key ?? []).map(keyLine));
    this.key.hidden = picture === null;
    this.details.hidden = picture === null;
    this.drawing.replaceChildren(...(picture === null ? [] : [svgOf(picture, this.figure.id)]));
    this.summary.textContent = WORDS.page.asTable(this.head.textContent);
    this.holder.setAttribute("aria-label", this.summary.textContent);
    this.#fill();
  }

  /** The table is made when it is asked for: it can be long. */
  #fill() {
    const wanted = this.details.open && this.picture !== null;
    this.holder.replaceChildren(...(wanted ? [tableOf(/** @type {Picture} */ (this.picture).table)] : []));
  }
}

/**
 * @param {Picture} picture
 * @param {string} id to name its words by
 */
function svgOf({ width, height, title, desc, parts }, id) {
  return drawn(
    "svg",
    {
      viewBox: `0 0 ${width} ${height}`,
      role: "img",
      "aria-labelledby": `${id}-title`,
      "aria-describedby": `${id}-desc`,
    },
    drawn("title", { id: `${id}-title` }, title),
    drawn("desc", { id: `${id}-desc` }, desc),
    ...parts.map(shape),
  );
}

/** @param {Part} part */
function shape({ tag, set, words, told }) {
  const inside = [...(words === undefined ? [] : [words]), ...(told === undefined ? [] : [drawn("title", {}, told)])];
  return drawn(tag, set, ...inside);
}

/** @param {{parts: Part[], words: string}} line */
function keyLine({ parts, words }) {
  const square = { viewBox: `0 0 ${KEY} ${KEY}`, width: KEY, height: KEY };
  return element("li", {}, drawn("svg", square, ...parts.map(shape)), words);
}

/**
 * @param {Table} table
 * @returns {HTMLTableElement}
 */
export function tableOf({ head, rows }) {
  const cells = (/** @type {(string | Node)[]} */ row) =>
    row.map((words, index) => element(index === 0 ? "th" : "td", index === 0 ? { scope: "row" } : {}, words));
  return element(
    "table",
    {},
    element("thead", {}, element("tr", {}, ...head.map((words) => element("th", { scope: "col" }, words)))),
    element("tbody", {}, ...rows.map((row) => element("tr", {}, ...cells(row)))),
  );
}
