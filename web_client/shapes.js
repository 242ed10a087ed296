/**
 * Chord shapes that the left hand holds: which fret each string has, and those that the player has kept.
 *
 * Pure: no document.
 *
 * @module shapes
 */

import { HIGHEST_FRET, isPlace } from "./neck.js";

/** @typedef {{name: string, frets: Record<string, number | null>, own: boolean}} Held
 * A shape by its name: the fret of each string, `"1"` to `"5"`, null where it is not played; whether the player made it.
 */

/** The longest name of a shape that is kept. */
export const LONGEST_NAME = 24;

/** How many shapes are kept. */
export const MOST_SHAPES = 24;

/** The keys that hold the first shapes of the row. They are no keys of a place. */
export const SHAPE_KEYS = Object.freeze([
  "Digit7", "Digit8", "Digit9", "Digit0", "KeyU", "KeyI", "KeyO", "KeyP",
]);

/**
 * The letter of the key that holds a shape.
 *
 * @param {number} index of the shape in the row
 * @returns {string} empty where it has none
 */
export function shapeLetter(index) {
  return (SHAPE_KEYS[index] ?? "").replace(/^(Key|Digit)/, "");
}

/**
 * A shape as the service gives it.
 *
 * @param {{chord: string, frets: (number | null)[]}} listed frets of strings 4, 3, 2, 1; the fifth string rings open
 * @returns {Held}
 */
export function fromService({ chord, frets }) {
  const [four, three, two, one] = frets;
  return { name: chord, frets: { 1: one, 2: two, 3: three, 4: four, 5: 0 }, own: false };
}

/**
 * The chords of a solo, those that come most often first.
 *
 * @param {any} arrangement
 * @returns {string[]} symbols
 */
export function chordsOf(arrangement) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const measure of arrangement.measures) {
    for (const { symbol } of measure.chords) {
      counts.set(symbol, (counts.get(symbol) ?? 0) + 1);
    }
  }
  return [...counts].sort((a, b) => b[1] - a[1]).map(([symbol]) => symbol);
}

/**
 * The shapes that were kept for a tuning.
 *
 * @param {string | null} text what {@link keptText} wrote
 * @param {Record<string, number>} strings open pitches
 * @returns {Held[]} without those that cannot be read
 */
export function keptShapes(text, strings) {
  return readKept(text).filter((shape) => isSame(shape.strings, strings)).map(({ name, frets }) => ({ name, frets, own: true }));
}

/**
 * What is to be kept when a shape is added, or takes the place of one of its name in its tuning.
 *
 * @param {string | null} text what was kept before
 * @param {Record<string, number>} strings open pitches
 * @param {string} name
 * @param {Record<string, number | null> | null} frets null to forget the shape
 * @returns {string} what is to be kept now
 */
export function keptText(text, strings, name, frets) {
  const others = readKept(text).filter((shape) => shape.name !== name || !isSame(shape.strings, strings));
  const added = frets === null ? [] : [{ name, strings, frets }];
  return JSON.stringify([...others, ...added].slice(-MOST_SHAPES));
}

/**
 * A name as it is kept: on one line, and no longer than the row has room for.
 *
 * @param {string} text
 * @returns {string} empty where nothing is left
 */
export function cleanName(text) {
  return text.replace(/\s+/g, " ").trim().slice(0, LONGEST_NAME).trim();
}

/**
 * @param {string | null} text
 * @returns {{name: string, strings: Record<string, number>, frets: Record<string, number | null>}[]}
 */
function readKept(text) {
  try {
    const read = JSON.parse(text ?? "[]");
    return Array.isArray(read) ? read.filter(isKept) : [];
  } catch {
    return []; // it was not written here
  }
}

/** @param {any} shape */
function isKept(shape) {
  return (
    typeof shape?.name === "string" &&
    shape.name !== "" &&
    [1, 2, 3, 4, 5].every(
      (string) =>
        Number.isInteger(shape.strings?.[string]) &&
        (shape.frets?.[string] === null || (isPlace(string, shape.frets?.[string]) && shape.frets[string] <= HIGHEST_FRET)),
    )
  );
}

/**
 * @param {Record<string, number>} one
 * @param {Record<string, number>} other
 */
function isSame(one, other) {
  return [1, 2, 3, 4, 5].every((string) => one[string] === other[string]);
}
