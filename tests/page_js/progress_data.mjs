/** Invented progress for the tests of its pictures. */

/**
 * @param {number} day days since 1 January 1970
 * @returns {string}
 */
export function dateOf(day) {
  return new Date(day * 86_400_000).toISOString().slice(0, 10);
}

/** 26 November 2026, a Thursday. */
export const TODAY = Date.UTC(2026, 10, 26) / 86_400_000;

/** A line of the climb. */
export function climb(ago, tier, low, high, fastest_clean, passes = 3) {
  return { day: dateOf(TODAY - ago), tier, low, high, fastest_clean, passes };
}

/** A pass at noon, by what became of each measure. */
export function pass(ago, measures, more = {}) {
  const clean = Object.values(measures).every((one) => one);
  const began = `${dateOf(TODAY - ago)}T12:00:00Z`;
  const heard = { mix: [], kind: "whole", judged: "heard", whole: true };
  return { began, tempo: 80, tier: "intermediate", ...heard, clean, measures, ...more };
}

/** The ready tempo of a measure, with an interval of a tenth to both sides. */
export function ready(measure, tempo, more = {}) {
  return { measure, tier: "intermediate", tempo, low: 0.9 * tempo, high: 1.1 * tempo, passes: 12, ...more };
}

/** The parts of a picture whose class has a word. */
export function having(picture, word) {
  return picture.parts.filter(({ set }) => String(set.class).split(" ").includes(word));
}

/** The texts that are written into a picture. */
export function texts(picture) {
  return picture.parts.flatMap(({ words }) => (words === undefined ? [] : [words]));
}

/** Where a mark or cell begins: the first point of its path. */
export function start({ set }) {
  const [, x, y] = /^M(-?[\d.]+) (-?[\d.]+)/.exec(set.d);
  return { x: Number(x), y: Number(y) };
}

/** The places of parts that are outside of the picture, or are no numbers at all. */
export function outside({ width, height, parts }) {
  const wrong = (x, y) => !(x >= 0 && x <= width && y >= 0 && y <= height);
  return parts.filter((part) => {
    const { x = 0, y = 0, x1 = 0, y1 = 0, x2 = 0, y2 = 0, width: wide = 0, height: high = 0, d } = part.set;
    const first = d === undefined ? { x: 0, y: 0 } : start(part);
    return (
      wrong(x, y) || wrong(x1, y1) || wrong(x2, y2) || wrong(x + wide, y + high) || wrong(first.x, first.y) ||
      !(wide >= 0 && high >= 0) || /NaN|undefined|Infinity/.test(JSON.stringify(part.set))
    );
  });
}
