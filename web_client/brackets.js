/**
 * Brackets under the measures of a mixed solo that have come in from a higher tier.
 *
 * @module brackets
 */

import { drawn } from "./dom.js";
import { linesOf, unitOf } from "./staff.js";
import { SIGNS, TIERS } from "./tiers.js";

/** Pixels below which no letter falls, so that it can be read on a small screen. */
const LEAST_LETTERS = 11.5;

/**
 * Measures in a row that are of one tier and stand on one system.
 *
 * @template T
 * @param {{tier: string, system: T}[]} measures in order
 * @param {string} base the tier that has no bracket
 * @returns {[tier: string, first: number, last: number][]} by index
 */
export function bracketed(measures, base) {
  /** @type {[string, number, number][]} */
  const found = [];
  measures.forEach(({ tier, system }, index) => {
    const last = found.at(-1);
    if (last !== undefined && last[0] === tier && last[2] === index - 1 && measures[index - 1].system === system) {
      last[2] = index;
    } else if (tier !== base) {
      found.push([tier, index, index]);
    }
  });
  return found;
}

/**
 * Draws them, each with the sign and name of its tier.
 *
 * @param {SVGSVGElement} svg the sheet, on the page
 * @param {Map<number, string>} tiers by measure; empty where all are of one
 */
export function drawBrackets(svg, tiers) {
  const measures = [...tiers].flatMap(([number, tier]) => {
    const group = svg.querySelector(`#${CSS.escape(`m${number}`)}`);
    return group === null ? [] : [{ group, tier, system: group.closest(".system") }];
  });
  const base = TIERS.find((tier) => measures.some((measure) => measure.tier === tier)) ?? "";
  for (const [tier, first, last] of bracketed(measures, base)) {
    const [from, to] = [measures[first].group, measures[last].group];
    const [begin, end] = [linesOf(from), linesOf(to)];
    if (begin.length > 1 && end.length > 1) {
      const fingers = measures.slice(first, last + 1).flatMap(({ group }) => footOf(group));
      from.closest(".system")?.append(bracket(tier, begin, end[0].right, fingers));
    }
  }
}

/**
 * @param {string} tier
 * @param {{y: number, left: number, right: number}[]} lines of its first measure
 * @param {number} right where it ends
 * @param {SVGTextElement[]} fingers of the right hand under the strings
 */
function bracket(tier, lines, right, fingers) {
  const gap = lines[1].y - lines[0].y;
  const low = Math.max(lines[lines.length - 1].y + gap, ...fingers.map((finger) => Number(finger.getAttribute("y"))));
  const unit = fingers.length > 0 ? unitOf(fingers[0]) : 0;
  const size = Math.max(gap, LEAST_LETTERS * unit);
  const [left, y] = [lines[0].left + gap * 0.3, low + gap * 0.4 + size / 2];
  const end = right - gap * 0.3;
  const up = y - size / 2;
  return drawn(
    "g",
    { class: "bracket", "data-tier": tier },
    drawn("path", { d: `M${left} ${up}V${y}H${end}V${up}` }),
    drawn(
      "text",
      { x: left + gap, y: y + size / 3, "font-size": `${size}px` },
      `${SIGNS[tier]} ${tier}`,
    ),
  );
}

/**
 * The right hand's row of a measure.
 *
 * @param {Element} measure
 * @returns {SVGTextElement[]}
 */
function footOf(measure) {
  return [...measure.querySelectorAll(".rh text")].map((text) => /** @type {SVGTextElement} */ (text));
}
