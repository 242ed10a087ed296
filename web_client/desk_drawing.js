/**
 * Draws the strips of passes, line by line: what is there already is left alone, so that nothing flickers.
 *
 * @module desk_drawing
 */

import { drawn, element } from "./dom.js";
import { DESK } from "./desk_english.js";
import { strips } from "./desk_strip.js";

/** @typedef {import("./desk_strip.js").Picture} Picture */

/** A drawing on the page. */
export class StripsDrawing {
  constructor() {
    this.svg = drawn("svg", { class: "card-strips", role: "img", viewBox: "0 0 1 1" });
    /** @type {Map<string, SVGElement>} */
    this.lines = new Map();
  }

  /**
   * @param {Picture} picture
   * @param {string} words what it shows
   */
  show({ width, height, parts }, words) {
    attribute(this.svg, "viewBox", `0 0 ${width} ${height}`);
    attribute(this.svg, "aria-label", words);
    const gone = new Set(this.lines.keys());
    for (const { key, kind, path } of parts) {
      gone.delete(key);
      const there = this.lines.get(key);
      if (there === undefined) {
        const line = drawn("path", { class: `strips-${kind}`, d: path });
        this.lines.set(key, line);
        this.svg.append(line);
      } else {
        attribute(there, "d", path);
      }
    }
    for (const key of gone) {
      this.lines.get(key)?.remove();
      this.lines.delete(key);
    }
  }
}

/**
 * @param {Element} node
 * @param {string} name
 * @param {string} value
 */
function attribute(node, name, value) {
  if (node.getAttribute(name) !== value) {
    node.setAttribute(name, value);
  }
}

/**
 * What the marks of the strips mean.
 *
 * @returns {HTMLElement[]}
 */
export function stripsKey() {
  const card = {
    student: "key", name: "", here: true, state: "", tune: "", title: "", tier: "", mix: [], tempo: 0, first: 1, last: 0,
    measures: 0, measure: null, marks: null, stuck: null, times: 0, practised: "", watched: false,
  };
  const pass = (/** @type {boolean} */ clean) => ({ tune: "", tier: "", tempo: 0, first: 1, clean: [clean], whole: true });
  const sign = (/** @type {"tick" | "ring" | "stuck"} */ kind) => {
    const passes = kind === "stuck" ? [pass(false), pass(false)] : [pass(kind === "tick")];
    const { parts } = strips({ ...card, strips: passes, stuck: kind === "stuck" ? 1 : null }, passes.length);
    const wanted = parts.filter(({ kind: one }) => one === kind || one === "ring");
    const svg = drawn("svg", { class: "card-strips", viewBox: `0 0 20 ${10 * passes.length}`, width: 20, height: 10 * passes.length, "aria-hidden": "true" });
    svg.append(...wanted.map((part) => drawn("path", { class: `strips-${part.kind}`, d: part.path })));
    return element("span", { className: "key-part" }, svg, ` ${DESK.now.key[kind]}`);
  };
  return [sign("tick"), sign("ring"), sign("stuck"), element("span", {}, DESK.now.keyWords)];
}
