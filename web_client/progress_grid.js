/**
 * Measures pass by pass: a column a pass, with its tempo above, a row a measure.
 *
 * Pure: no document.
 *
 * @module progress_grid
 */

import { dayHere } from "./progress_days.js";
import { KEY, label, line, mark, part, tierKey } from "./progress_picture.js";
import { NUMBERS, rowParts, rowsOf } from "./progress_rows.js";
import { along, tempoScale } from "./progress_scale.js";
import { WORDS } from "./english.js";

/** @typedef {import("./progress_picture.js").PassLine} PassLine */

/** Where the rows begin: above them stands the tempo of each pass. */
export const GRID_TOP = 84;

const TEMPO = { top: 16, bottom: 66 };
const BELOW = 24;
const RIGHT = 8;
/** Columns for which there is room at least, so that a first pass has rows to stand in. */
const FEWEST = 12;
const COLUMN = { least: 9.5, most: 18 };

/**
 * @param {PassLine[]} passes the last ones, the oldest first
 * @param {number} count of all that there were
 * @param {number[]} measures in order; those of the passes among them
 * @param {number | null} goal
 * @param {number} width pixels
 * @returns {import("./progress_picture.js").Picture | null} null where there is nothing to show; where there is no
 *   room for all passes it shows the last
 */
export function gridPicture(passes, count, measures, goal, width) {
  if (passes.length === 0) {
    return null;
  }
  const room = width - NUMBERS - RIGHT;
  const shown = passes.slice(-Math.floor(room / COLUMN.least));
  const pitch = Math.min(COLUMN.most, room / shown.length);
  const right = NUMBERS + pitch * Math.max(shown.length, Math.min(FEWEST, Math.floor(room / pitch)));
  const goals = goal === null ? [] : [goal];
  const rows = rowsOf(measures, GRID_TOP);
  const clicked = shown.filter((pass) => !isFree(pass));
  const scale = tempoScale([...(clicked.length === 0 ? shown : clicked).map(({ tempo }) => tempo), ...goals], 3);
  const y = along(scale, TEMPO.bottom, TEMPO.top);
  const x = (/** @type {number} */ index) => NUMBERS + pitch * (index + 0.5);
  const days = shown.map(({ began }) => dayHere(new Date(began)));
  const r = Math.min(4.5, pitch * 0.36);
  return {
    width,
    height: rows.bottom + BELOW,
    title: WORDS.grid.name,
    desc: WORDS.grid.desc(shown.length, count),
    parts: [
      ...scale.lines.map((tempo) => line("grid", NUMBERS, y(tempo), right, y(tempo))),
      ...scale.lines.map((tempo) => label(WORDS.tempo(tempo), NUMBERS - 7, y(tempo) + 4, "end")),
      ...goals.map((tempo) => line("goal", NUMBERS, y(tempo), right, y(tempo))),
      ...rowParts(rows, right),
      ...daysBelow(days, x, pitch, rows.bottom, right),
      ...shown.flatMap((pass, index) => {
        const told = WORDS.grid.told(WORDS.date(days[index]), pass);
        return isFree(pass) ? [] : [mark(pass.tier, x(index), y(pass.tempo), r, pass.clean, told)];
      }),
      ...shown.flatMap((pass, index) =>
        Object.entries(pass.measures).map(([measure, clean]) => cell(x(index), rows.y(Number(measure)), r, clean)),
      ),
      ...shown.flatMap((pass, index) =>
        pass.mix.filter((measure) => measure in pass.measures).map((measure) => under(x(index), rows.y(measure), r)),
      ),
    ],
    key: [
      { parts: [cell(KEY / 2, KEY / 2, 4.5, true)], words: WORDS.grid.clean },
      { parts: [cell(KEY / 2, KEY / 2, 4.5, false)], words: WORDS.grid.unclean },
      ...(shown.some(({ mix }) => mix.length > 0)
        ? [{ parts: [under(KEY / 2, KEY / 2 - 4.5, 4.5)], words: WORDS.grid.mixed }]
        : []),
      ...tierKey(clicked.map(({ tier }) => tier)),
      ...goals.map(() => ({ parts: [line("goal", 1, KEY / 2, KEY - 1, KEY / 2)], words: WORDS.grid.goal })),
    ],
    table: {
      head: [...WORDS.grid.head, ...measures.map(String)],
      rows: shown.map((pass, index) => [
        WORDS.date(days[index]),
        isFree(pass) ? WORDS.grid.free : WORDS.tempo(pass.tempo),
        WORDS.grid.tier(pass),
        WORDS.grid.kind(pass.kind),
        WORDS.grid.went(pass),
        ...measures.map((measure) => {
          const clean = pass.measures[measure];
          return clean === undefined ? "" : clean ? WORDS.grid.clean : WORDS.grid.unclean;
        }),
      ]).reverse(),
    },
  };
}

/**
 * Without a click there is no one tempo.
 *
 * @param {PassLine} pass
 */
function isFree({ judged }) {
  return judged === "freely";
}

/**
 * A line under a measure that was of the next tier.
 *
 * @param {number} x
 * @param {number} y
 * @param {number} r
 */
function under(x, y, r) {
  return line("next", x - r, y + r + 2.2, x + r, y + r + 2.2);
}

/**
 * A measure of a pass: a full square where it was clean, a cross where it was not.
 *
 * @param {number} x
 * @param {number} y
 * @param {number} r half its side
 * @param {boolean} clean
 */
function cell(x, y, r, clean) {
  return clean
    ? part("path", { class: "clean", d: `M${x - r} ${y - r}h${2 * r}v${2 * r}h${-2 * r}Z` })
    : part("path", { class: "unclean", d: `M${x - r} ${y - r}l${2 * r} ${2 * r}m0 ${-2 * r}l${-2 * r} ${2 * r}` });
}

/**
 * Where a day begins, a line, and below it the date where there is room.
 *
 * @param {number[]} days of the columns
 * @param {(index: number) => number} x
 * @param {number} pitch
 * @param {number} bottom
 * @param {number} right
 */
function daysBelow(days, x, pitch, bottom, right) {
  const parts = [];
  let free = -Infinity;
  for (const [index, day] of days.entries()) {
    if (day === days[index - 1]) {
      continue;
    }
    const left = x(index) - pitch / 2;
    parts.push(line(index === 0 ? "axis" : "day", left, index === 0 ? bottom : TEMPO.top, left, bottom + 4));
    const words = WORDS.date(day);
    if (left >= free && (left + 42 <= right || index === 0)) {
      parts.push(label(words, left, bottom + 18));
      free = left + 48;
    }
  }
  return parts;
}
