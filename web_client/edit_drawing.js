/**
 * A measure as a small tab: where its lines, numbers and letters stand.
 *
 * Chords over the strings, a wedge over each melody note, slurs with their letter, T I M under the strings and the
 * words under them. What differs from another way stands on a patch of its own.
 *
 * Pure: no document.
 *
 * @module edit_drawing
 */

import { fraction } from "./written.js";

/** @typedef {import("./edit_measure.js").Measure} Measure */
/** @typedef {import("./edit_measure.js").Pluck} Pluck */

/**
 * @typedef {{x: number, y: number, words: string, melody?: boolean, marked?: boolean}} Letter
 * Words around a middle.
 *
 * @typedef {{width: number, height: number, lines: number[], left: number, right: number, columns: number[],
 *   numbers: Letter[], fingers: Letter[], chords: Letter[], words: Letter[], wedges: string[], slurs: string[],
 *   slurLetters: Letter[], patches: {x: number, y: number}[], patch: number}} SmallTab
 * `lines` are the heights of the strings, the first string first, `columns` the middles of the positions. Paths of
 * `wedges` are filled, of `slurs` stroked; a patch is a square of that size around its middle.
 */

/** The space around, in pixels of the drawing. */
const EDGE = 4;
/** The size of a letter. */
export const LETTER = 13;
/** The least distance of two positions. */
const LEAST = 21;
const LETTERS = Object.freeze({ pick: "", slide: "s", "hammer-on": "h", "pull-off": "p" });

/**
 * Lays a measure out.
 *
 * @param {Measure} measure
 * @param {string[]} at its positions, in order
 * @param {{width: number, gap: number, marked?: readonly Pluck[]}} how `width` that is wished for, distance of two strings, plucks
 *   that stand on a patch
 * @returns {SmallTab}
 */
export function smallTab(measure, at, { width, gap, marked = [] }) {
  const inner = Math.max(width - 2 * EDGE, at.length * LEAST);
  const step = inner / at.length;
  const columns = at.map((_, index) => EDGE + step * (index + 0.5));
  const x = (/** @type {string} */ one) => between(at, columns, fraction(one), EDGE + inner);
  const hasChords = measure.chords.length > 0;
  const top = EDGE + (hasChords ? LETTER + 5 : 0) + LETTER + 4 + gap / 2;
  const lines = [0, 1, 2, 3, 4].map((string) => top + gap * string);
  const y = (/** @type {number} */ string) => lines[string - 1];
  const foot = lines[4] + gap / 2 + LETTER * 0.9;
  const sung = measure.melody.filter((note) => note.lyric !== null);
  const letters = sung.length > 0 ? foot + LETTER + 4 : foot;
  const over = top - gap / 2 - 4;
  const melody = new Map(
    measure.plucks.filter((pluck) => pluck.role === "melody").map((pluck) => [pluck.at, x(pluck.at)]),
  );
  return {
    width: inner + 2 * EDGE,
    height: letters + LETTER * 0.6 + EDGE,
    lines,
    left: EDGE,
    right: EDGE + inner,
    columns,
    numbers: measure.plucks.map((pluck) => ({
      x: x(pluck.at),
      y: y(pluck.string),
      words: String(pluck.fret),
      melody: pluck.role === "melody",
      marked: marked.includes(pluck),
    })),
    fingers: fingersOf(measure, x, foot),
    chords: measure.chords.map((chord) => ({ x: x(chord.at), y: EDGE + LETTER * 0.6, words: chord.symbol })),
    words: sung.map((note) => ({
      x: x(note.moved ?? note.at),
      y: letters,
      words: note.kept ? String(note.lyric) : `(${note.lyric})`,
    })),
    wedges: [...melody.values()].map((middle) => `M${round(middle - 4)} ${round(over - 6)}h8l-4 7z`),
    ...slursOf(measure, x, y, gap),
    patches: marked.map((pluck) => ({ x: x(pluck.at), y: y(pluck.string) })),
    patch: Math.min(gap + 3, step - 1, 20),
  };
}

/**
 * The right hand's row; fingers that pluck together stand in one word.
 *
 * @param {Measure} measure
 * @param {(at: string) => number} x
 * @param {number} y
 * @returns {Letter[]}
 */
function fingersOf(measure, x, y) {
  /** @type {Map<string, string>} */
  const found = new Map();
  for (const { at, finger } of measure.plucks) {
    if (finger !== null) {
      found.set(at, (found.get(at) ?? "") + finger);
    }
  }
  return [...found].map(([at, words]) => ({ x: x(at), y, words }));
}

/**
 * Slurs from where their string sounded last, or from a little before.
 *
 * @param {Measure} measure
 * @param {(at: string) => number} x
 * @param {(string: number) => number} y
 * @param {number} gap
 */
function slursOf(measure, x, y, gap) {
  /** @type {string[]} */
  const slurs = [];
  /** @type {Letter[]} */
  const slurLetters = [];
  for (const [index, pluck] of measure.plucks.entries()) {
    if (pluck.technique === "pick") {
      continue;
    }
    const from = measure.plucks.slice(0, index).filter((one) => one.string === pluck.string && one.at !== pluck.at).at(-1);
    const right = x(pluck.at);
    const left = from === undefined ? right - LETTER * 1.6 : x(from.at);
    const high = y(pluck.string) - LETTER * 0.6;
    const rise = Math.min(7, gap * 0.45);
    slurs.push(`M${round(left + 2)} ${round(high)}Q${round((left + right) / 2)} ${round(high - 2 * rise)} ${round(right - 2)} ${round(high)}`);
    slurLetters.push({ x: (left + right) / 2, y: high - rise - LETTER * 0.42, words: LETTERS[pluck.technique] });
  }
  return { slurs, slurLetters };
}

/**
 * The middle of a position, also of one that has no column of its own.
 *
 * @param {string[]} at positions with columns, in order
 * @param {number[]} columns
 * @param {number} wanted quarters
 * @param {number} end of the last column
 * @returns {number}
 */
function between(at, columns, wanted, end) {
  const after = at.findIndex((one) => fraction(one) >= wanted);
  if (after < 0) {
    return (columns[columns.length - 1] + end) / 2;
  }
  if (fraction(at[after]) === wanted || after === 0) {
    return columns[after];
  }
  const [a, b] = [fraction(at[after - 1]), fraction(at[after])];
  return columns[after - 1] + ((wanted - a) / (b - a)) * (columns[after] - columns[after - 1]);
}

/** @param {number} value */
function round(value) {
  return Math.round(value * 10) / 10;
}
