/**
 * The strips of the last passes as one small picture: a column for each measure, a row for each pass, the one that is
 * played below them on a stave. Clean is a tick, not clean a ring, and nothing stands where nothing was played.
 *
 * Pure: values for a drawing, no document.
 *
 * @module desk_strip
 */

import { markOf, waver } from "./marks.js";

/**
 * @typedef {import("./desk_cards.js").Card} Card
 * @typedef {import("./desk_cards.js").PassStrip} PassStrip
 * @typedef {{key: string, kind: "stave" | "bar" | "tick" | "ring" | "stuck" | "now" | "own", path: string}} Part
 * A line to be drawn, by a name that stays the same as long as it means the same.
 *
 * @typedef {{width: number, height: number, parts: Part[], first: number, last: number}} Picture
 * All in units of the picture; the measures that are shown.
 */

/** The most measures that have room beside one another; of more, those around the one that counts are shown. */
export const MOST = 24;

/** How wide it is drawn, so that every measure is as wide on all cards of tunes as long as this one. */
const WIDTH = 240;

/** Of a row of a pass that is over, and of the stave below. */
const ROW = 10;
const STAVE = 24;

/** Of the stave, between two lines of it. */
const GAP = 4;

/** The widest that a measure is drawn. */
const WIDEST = 20;

/**
 * The passes that are shown: those of the tune at hand, the latest last.
 *
 * @param {Card} card
 * @param {number} rows at most
 * @returns {PassStrip[]}
 */
export function shownPasses(card, rows) {
  return card.strips.filter(({ tune }) => tune === card.tune).slice(-rows);
}

/**
 * The measures that are shown.
 *
 * @param {Card} card
 * @returns {[first: number, last: number]} as many as have room, around what is stuck or played where there are more
 */
export function shownMeasures(card) {
  const passes = [...shownPasses(card, card.strips.length), ...(card.marks === null ? [] : [card.marks])];
  const first = Math.min(1, card.first, ...passes.map((pass) => pass.first));
  const last = Math.max(first + card.measures - 1, card.last, ...passes.map((pass) => pass.first + pass.clean.length - 1));
  if (last - first < MOST) {
    return [first, last];
  }
  const wanted = card.stuck ?? card.measure ?? card.first;
  const from = Math.max(first, Math.min(last - MOST + 1, wanted - MOST / 2));
  return [from, from + MOST - 1];
}

/**
 * The picture.
 *
 * @param {Card} card
 * @param {number} rows of passes that are over, at most
 * @returns {Picture}
 */
export function strips(card, rows) {
  const [first, last] = shownMeasures(card);
  const cell = Math.min(WIDEST, WIDTH / (last - first + 1));
  const over = shownPasses(card, rows);
  const left = (/** @type {number} */ measure) => round((measure - first) * cell);
  const shown = (/** @type {number} */ measure) => measure >= first && measure <= last;
  const top = rows * ROW + (STAVE - 4 * GAP) / 2 - 1;
  /** @type {Part[]} */
  const parts = [];

  /** @param {PassStrip} pass @param {string} row @param {number} y @param {number} size */
  const pencil = (pass, row, y, size) => {
    for (const [index, clean] of pass.clean.entries()) {
      const measure = pass.first + index;
      if (shown(measure)) {
        const kind = clean ? "tick" : "ring";
        const name = `${card.student} ${row} ${measure}`;
        parts.push({ key: `${row} ${measure} ${kind}`, kind, path: mark(kind, left(measure) + cell / 2, y, size, name) });
      }
    }
    if (pass.marked) {
      parts.push({ key: `${row} own`, kind: "own", path: `M${round(left(pass.first) + cell)} ${y}H${left(last + 1)}` });
    }
  };

  const from = Math.max(card.first, first);
  const to = Math.min(card.last, last) + 1;
  const lines = [0, 1, 2, 3, 4].map((line) => `M${left(from)} ${top + line * GAP}H${left(to)}`);
  parts.push({ key: `stave ${from} ${to}`, kind: "stave", path: lines.join("") });
  for (let measure = first; measure <= last + 1; measure += 1) {
    parts.push({ key: `bar ${measure}`, kind: "bar", path: `M${left(measure)} ${top}v${4 * GAP}` });
  }
  for (const [index, pass] of over.entries()) {
    const row = rows - over.length + index;
    pencil(pass, `over ${over.length - index}`, ROW * row + ROW / 2, Math.min(ROW - 2.5, cell * 0.85));
  }
  if (card.marks !== null) {
    pencil(card.marks, "now", top + 2 * GAP, Math.min(3.2 * GAP, cell * 0.85));
    if (card.measure !== null && shown(card.measure)) {
      const path = `M${round(left(card.measure) + 1)} ${top + 5 * GAP - 1}H${round(left(card.measure + 1) - 1)}`;
      parts.push({ key: `at ${card.measure}`, kind: "now", path });
    }
  }
  if (card.stuck !== null && shown(card.stuck)) {
    const wide = round(cell - 1);
    const above = ROW * (rows - over.length) + 0.75;
    const path = `M${round(left(card.stuck) + 0.5)} ${above}h${wide}V${top + 4 * GAP + 2}h${-wide}z`;
    parts.push({ key: `stuck ${card.stuck}`, kind: "stuck", path });
  }
  return { width: WIDTH, height: rows * ROW + STAVE, parts, first, last };
}

/**
 * @param {"tick" | "ring"} kind
 * @param {number} x its middle
 * @param {number} y its middle
 * @param {number} size its height
 * @param {string} name whose hand it is
 * @returns {string} a path
 */
function mark(kind, x, y, size, name) {
  if (kind === "ring") {
    const place = { x, y, size: size / 1.4, gap: size, string: 1 };
    return markOf({ verdict: "missed", offset_ms: null, string: null, played: null }, place, name)?.lines.join("") ?? "";
  }
  const lean = 0.1 * size * waver(name, 3);
  const points = [[-0.42, 0.02], [-0.14, 0.4], [0.42, -0.45]].map(
    ([right, down]) => `${round(x + right * size + lean)} ${round(y + down * size)}`,
  );
  return `M${points.join("L")}`;
}

/** @param {number} value */
function round(value) {
  return Math.round(value * 10) / 10;
}
