/**
 * The ready tempo of each measure with its interval, against the goal.
 *
 * Pure: no document.
 *
 * @module progress_ready
 */

import { KEY, label, line, mark, part } from "./progress_picture.js";
import { NUMBERS, rowParts, rowsOf } from "./progress_rows.js";
import { along, tempoScale } from "./progress_scale.js";
import { WORDS } from "./english.js";

/** @typedef {import("./progress_picture.js").ReadyLine} ReadyLine */

/** Where the rows begin when nothing stands beside the picture. */
export const READY_TOP = 40;

const BELOW = 24;
const VALUES = 46; // room for the tempo in figures
/** Quarters a minute by which the goal stands clear of the edge, where an interval may be cut. */
const CLEAR = 3;

/** Shares of the ready tempo beyond which an interval is cut, since it would press everything else together. */
const SHOWN = { low: 0.6, high: 1.5 };

/**
 * The measures that hold the tempo back: the slowest of a tier, two at most, as long as they are below the goal.
 *
 * @param {ReadyLine[]} lines of one tier
 * @param {number | null} goal
 * @returns {ReadyLine[]} the slowest first
 */
export function slowest(lines, goal) {
  const below = lines.filter(({ tempo }) => goal === null || Math.round(tempo) < Math.round(goal));
  return below.sort((one, other) => one.tempo - other.tempo || one.measure - other.measure).slice(0, 2);
}

/**
 * @param {ReadyLine[]} lines of one tier
 * @param {number[]} measures in order; those of the lines among them
 * @param {number | null} goal
 * @param {{width: number, top: number}} frame pixels; above the first row
 * @returns {import("./progress_picture.js").Picture | null} null where there is nothing to show
 */
export function readyPicture(lines, measures, goal, { width, top }) {
  if (lines.length === 0) {
    return null;
  }
  const right = width - VALUES;
  const rows = rowsOf(measures, top);
  const lows = lines.map(({ tempo, low }) => Math.max(low, SHOWN.low * tempo));
  const highs = lines.map(({ tempo, high }) => Math.min(high, SHOWN.high * tempo));
  const scale = tempoScale([...lows, ...highs, ...(goal === null ? [] : [goal + CLEAR])], width < 340 ? 5 : 6);
  const x = along(scale, NUMBERS + 4, right - 4);
  const slow = slowest(lines, goal);
  const tier = lines[0].tier;
  return {
    width,
    height: rows.bottom + BELOW,
    title: WORDS.ready.name,
    desc: WORDS.ready.desc(tier, lines.length === measures.length),
    parts: [
      ...scale.lines.map((tempo) => line("grid", x(tempo), top - 4, x(tempo), rows.bottom)),
      ...scale.lines.map((tempo) => label(WORDS.tempo(tempo), x(tempo), rows.bottom + 17, "middle")),
      ...rowParts(rows, right),
      ...(goal === null
        ? []
        : [
            line("goal", x(goal), top - 12, x(goal), rows.bottom),
            label(WORDS.goal(goal), Math.min(x(goal), right - 22), top - 17, "middle", "label goal-words"),
          ]),
      ...lines.flatMap((one) => interval(one, scale, x, rows.y(one.measure))),
      ...lines.map((one) => mark(tier, x(one.tempo), rows.y(one.measure), 4.5, true, WORDS.ready.told(one))),
      ...lines.map((one) => value(one, goal, slow.includes(one), width, rows)),
    ],
    key: [
      { parts: [mark(tier, KEY / 2, KEY / 2, 4.5, true)], words: WORDS.ready.mark },
      {
        parts: [part("path", { class: `range ${tier}`, d: `M1 ${KEY / 2}H${KEY - 1}M1 6v6M${KEY - 1} 6v6` })],
        words: WORDS.ready.interval,
      },
      ...(slow.length === 0
        ? []
        : [{ parts: [label(WORDS.tempo(slow[0].tempo), KEY, KEY - 4, "end", "value slow")], words: WORDS.ready.slow }]),
    ],
    table: {
      head: WORDS.ready.head.filter((_, index) => index !== 4 || goal !== null),
      rows: lines.map((one) => [
        String(one.measure),
        WORDS.tempo(one.tempo),
        WORDS.tempo(one.low),
        WORDS.tempo(one.high),
        ...(goal === null ? [] : [WORDS.ready.against(one.tempo, goal)]),
        String(one.passes),
      ]),
    },
  };
}

/**
 * The interval: ended by short lines, or by a point where it goes on beyond the picture.
 *
 * @param {ReadyLine} one
 * @param {import("./progress_scale.js").Scale} scale
 * @param {(tempo: number) => number} x
 * @param {number} y
 */
function interval({ tier, low, high }, scale, x, y) {
  const from = x(Math.max(low, scale.low));
  const to = x(Math.min(high, scale.high));
  const start = low < scale.low ? `m4 -4l-4 4l4 4` : `m0 -4v8`;
  const end = high > scale.high ? `m-4 -4l4 4l-4 4` : `m0 -4v8`;
  return [part("path", { class: `range ${tier}`, d: `M${from} ${y}H${to}M${from} ${y}${start}M${to} ${y}${end}` })];
}

/**
 * The tempo in figures, with a tick where the goal is reached, and strong where it holds the whole back.
 *
 * @param {ReadyLine} one
 * @param {number | null} goal
 * @param {boolean} slow
 * @param {number} width
 * @param {import("./progress_rows.js").Rows} rows
 */
function value({ measure, tempo }, goal, slow, width, rows) {
  const there = goal !== null && Math.round(tempo) >= Math.round(goal);
  const size = rows.pitch < 14 ? " small" : "";
  const words = there ? WORDS.ready.there(tempo) : WORDS.tempo(tempo);
  return label(words, width - 4, rows.y(measure) + 4, "end", `value${size}${slow ? " slow" : ""}`);
}
