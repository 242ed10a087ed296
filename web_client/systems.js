/**
 * The systems of the engraved sheet: which measures they hold, how high they are, and where they stand on the page.
 *
 * @module systems
 */

import { drawn } from "./dom.js";
import { linesOf } from "./staff.js";

/** Units of the sheet over the first system, and between two: less where the tab stands alone. */
const [OVER, BETWEEN, BETWEEN_TABS] = [200, 600, 350];

/** Distances of two strings by which chords stand over the tab where it stands alone: over the letters of its slurs. */
const CHORDS_OVER = 2.5;

/**
 * @typedef {{group: SVGGElement, measures: number[], offset: number, top: number, bottom: number}} System
 * One system: its measures by number, how far its page is moved down, and its upper and lower end as it was engraved.
 */

/** All systems of a sheet. */
export class Systems {
  /** @param {SVGSVGElement} svg on the page */
  constructor(svg) {
    this.svg = svg;
    /** Units from left to right. */
    this.width = svg.viewBox.baseVal.width;
    /** Units between two systems. */
    this.between = BETWEEN;
    /** @type {System[]} */
    this.all = [...svg.querySelectorAll(".system")].map((one) => {
      const group = /** @type {SVGGElement} */ (one);
      const measures = [...group.querySelectorAll(":scope > .measure")].map(({ id }) => Number(id.slice(1)));
      return { group, measures, offset: offsetOf(group, svg), top: 0, bottom: 0 };
    });
    /** @type {Map<number, number>} the system of each measure */
    this.of = new Map(this.all.flatMap(({ measures }, index) => measures.map((number) => [number, index])));
    for (const { group } of this.all) {
      partTune(group);
      group.append(drawn("g", { class: "pencil" })); // over all that is printed
    }
  }

  /**
   * Reads how high they are with what is shown at present, and piles them one under another.
   *
   * @param {boolean} tabs whether the tab stands alone
   */
  pile(tabs) {
    this.between = tabs ? BETWEEN_TABS : BETWEEN;
    let y = OVER;
    for (const system of this.all) {
      system.group.classList.remove("off", "turned");
      const { y: top, height } = system.group.getBBox();
      [system.top, system.bottom] = [top, top + height];
      this.#put(system, y);
      y += height + this.between;
    }
    this.#cut(y);
  }

  /**
   * The height of the highest of some systems, with the space under it.
   *
   * @param {number} first
   * @param {number} last
   * @returns {number} units
   */
  highest(first, last) {
    return this.between + Math.max(...this.all.slice(first, last + 1).map(({ top, bottom }) => bottom - top));
  }

  /**
   * Shows some systems alone, each in its slot.
   *
   * @param {number[]} slots the system in each
   * @param {number} height of a slot, in units
   */
  seat(slots, height) {
    this.all.forEach((system, index) => {
      const slot = slots.indexOf(index);
      if (slot >= 0) {
        this.#put(system, OVER + slot * height);
        system.group.classList.toggle("turned", system.group.classList.contains("off"));
      }
      system.group.classList.toggle("off", slot < 0);
    });
    this.#cut(OVER + slots.length * height);
  }

  /**
   * @param {System} system
   * @param {number} y units from the top of the sheet
   */
  #put({ group, offset, top }, y) {
    group.setAttribute("transform", `translate(0 ${Math.round(y - offset - top)})`);
  }

  /** @param {number} height units */
  #cut(height) {
    this.svg.setAttribute("viewBox", `0 0 ${this.width} ${Math.round(height)}`);
  }
}

/**
 * How far down a group stands by what it is in.
 *
 * @param {SVGGElement} group
 * @param {SVGSVGElement} svg
 * @returns {number} units
 */
function offsetOf(group, svg) {
  let y = 0;
  for (let at = group.parentElement; at !== null && /** @type {Element} */ (at) !== svg; at = at.parentElement) {
    y += /** @type {any} */ (at).transform.baseVal.consolidate()?.matrix.f ?? 0;
  }
  return y;
}

/**
 * Tells apart what belongs to the tune's staff, so that the tab can be shown alone, with chords and measure numbers
 * right over it.
 *
 * @param {SVGGElement} system
 */
function partTune(system) {
  for (const measure of system.querySelectorAll(":scope > .measure")) {
    const tune = measure.querySelector(":scope > .staff:not(.tab)");
    const lines = linesOf(measure);
    if (tune === null || lines.length < 2) {
      return; // there is no tune
    }
    const gap = lines[1].y - lines[0].y;
    const border = lines[0].y - 3 * gap; // what the tab has over its strings is lower
    for (const part of /** @type {Iterable<any>} */ (measure.children)) {
      if (part === tune || (part.matches(".tie, .slur, .tuplet") && middleOf(part) < border)) {
        part.classList.add("of-tune");
      } else if (part.matches(".mNum, .harm:not(.rh)")) {
        const y = Number(part.querySelector("text")?.getAttribute("y") ?? 0);
        part.style.setProperty("--drop", `${Math.round(lines[0].y - CHORDS_OVER * gap - y)}px`);
        part.classList.add("drops");
      }
    }
    for (const line of measure.querySelectorAll(":scope > .barLine > *")) {
      if (middleOf(/** @type {any} */ (line)) < border) {
        line.classList.add("of-tune");
      }
    }
    if (measure === system.querySelector(":scope > .measure")) {
      const [top, bottom] = [lines[0], lines[lines.length - 1]];
      const left = drawn("path", { class: "of-tab", d: `M${top.left + 13} ${top.y}V${bottom.y}`, "stroke-width": 27 });
      system.prepend(left);
    }
  }
  for (const part of system.querySelectorAll(":scope > path:not(.of-tab), :scope > .grpSym")) {
    part.classList.add("of-tune");
  }
}

/** @param {SVGGraphicsElement} part */
function middleOf(part) {
  const { y, height } = part.getBBox();
  return y + height / 2;
}
