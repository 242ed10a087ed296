/**
 * Where the notes of an arrangement stand on its engraved sheet.
 *
 * @module written
 */

import { linesOf, unitOf } from "./staff.js";

/** @typedef {import("./marks.js").Place} Place */

/** Pixels below which no pencilled letter falls, so that it can be read on a small screen. */
const LEAST_LETTERS = 11.5;

/** The sheet's SVG, read by the numbers of measures and the ids of plucks. */
export class Written {
  /**
   * @param {SVGSVGElement} svg on the page
   * @param {any} arrangement as in its file
   */
  constructor(svg, arrangement) {
    this.svg = svg;
    this.arrangement = arrangement;
    /** @type {Map<number, any>} as in the file, by number */
    this.measures = new Map(arrangement.measures.map((/** @type {any} */ one) => [one.number, one]));
    /** @type {Map<number, {at: number, x: number}[]>} what stands where, by measure */
    this.columns = new Map();
  }

  /**
   * @param {number} number of a measure
   * @returns {SVGGElement | null}
   */
  measure(number) {
    return this.svg.querySelector(`#${CSS.escape(`m${number}`)}`);
  }

  /**
   * @param {string} id of a pluck
   * @returns {Place | null}
   */
  place(id) {
    /** @type {SVGTextElement | null} */
    const number = this.svg.querySelector(`#${CSS.escape(id)} text`);
    const group = number?.closest(".measure");
    if (!number || !group) {
      return null;
    }
    const lines = linesOf(group);
    const size = Number.parseFloat(number.getAttribute("font-size") ?? "300");
    const y = Number(number.getAttribute("y")) - size / 3; // the text stands on its baseline
    const gap = lines.length > 1 ? lines[1].y - lines[0].y : size;
    const string = lines.length > 0 ? Math.round((y - lines[0].y) / gap) + 1 : 3;
    const least = LEAST_LETTERS * unitOf(number);
    return { x: Number(number.getAttribute("x")), y, size, gap, string, least };
  }

  /**
   * The x of a written position in a measure: that of the number there, or between its neighbours.
   *
   * @param {number} number of the measure
   * @param {number} at quarters from its start
   * @returns {number | null} in the sheet's own units; null where the sheet has no such measure
   */
  x(number, at) {
    const measure = this.measures.get(number);
    const group = this.measure(number);
    if (measure === undefined || group === null) {
      return null;
    }
    let columns = this.columns.get(number);
    if (columns === undefined) {
      const [line] = linesOf(group);
      if (line === undefined) {
        return null;
      }
      const plucks = measure.plucks.flatMap((/** @type {any} */ pluck) => {
        const place = this.place(pluck.id);
        return place === null ? [] : [{ at: fraction(pluck.at), x: place.x }];
      });
      columns = [{ at: 0, x: line.left }, ...plucks, { at: fraction(measure.length), x: line.right }];
      this.columns.set(number, columns);
    }
    return between(columns, at);
  }

  /**
   * The note that is meant where the sheet was touched: the nearest number within reach.
   *
   * @param {Element} measure its group
   * @param {number} clientX
   * @param {number} clientY
   * @param {number} reach pixels
   * @returns {string | null} its id
   */
  nearest(measure, clientX, clientY, reach) {
    let [found, least] = [/** @type {string | null} */ (null), reach];
    for (const { id } of this.measures.get(Number(measure.id.slice(1)))?.plucks ?? []) {
      const box = this.svg.querySelector(`#${CSS.escape(id)}`)?.getBoundingClientRect();
      if (box) {
        const far = Math.hypot((box.left + box.right) / 2 - clientX, (box.top + box.bottom) / 2 - clientY);
        if (far < least) {
          [found, least] = [id, far];
        }
      }
    }
    return found;
  }
}

/**
 * An exact fraction as it is written in the arrangement.
 *
 * @param {string} text `"3/2"`
 * @returns {number} quarters
 */
export function fraction(text) {
  const [over, under = "1"] = text.split("/");
  return Number(over) / Number(under);
}

/**
 * The x of a written position between known ones.
 *
 * @param {{at: number, x: number}[]} known in order of `at`, at least two
 * @param {number} at quarters
 * @returns {number}
 */
export function between(known, at) {
  const after = known.findIndex((one) => one.at > at);
  const [a, b] = after <= 0 ? known.slice(-2) : [known[after - 1], known[after]];
  return b.at === a.at ? a.x : a.x + ((at - a.at) / (b.at - a.at)) * (b.x - a.x);
}
