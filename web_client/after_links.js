/**
 * The measures that a sentence of a report speaks of, so that each leads to its place.
 *
 * Pure: no document.
 *
 * @module after_links
 */

/** Measures as the sentences name them: "measure 3", "measures 2, 5 and 7 to 9". */
const NAMED = /\b(measures? )(\d+(?:(?: to |, | and )\d+)*)/gi;

/** More measures than these are not linked one by one. */
const MOST_LINKS = 8;

/**
 * @typedef {string | {words: string, measure: number}} Piece
 */

/** Measures that a sentence only counts: "in 4 of 16 measures". */
const COUNTED = /\b(?:\d+ of )?\d+ measures\b/;

/**
 * A sentence in pieces, those that lead to a measure apart.
 *
 * @param {string} sentence
 * @param {Set<number>} known the measures that there are
 * @param {number[]} [counted] measures to be named behind their number, see {@link countedMeasures}
 * @returns {Piece[]}
 */
export function piecesOf(sentence, known, counted = []) {
  /** @type {Piece[]} */
  const pieces = [];
  let end = 0;
  for (const match of sentence.matchAll(NAMED)) {
    const [whole, name, list] = match;
    const single = /^\d+$/.test(list);
    if (single && known.has(Number(list))) {
      pieces.push(sentence.slice(end, match.index), { words: whole, measure: Number(list) });
    } else {
      pieces.push(sentence.slice(end, match.index) + name);
      pieces.push(...list.split(/(\d+)/).map((part) => {
        const measure = Number(part);
        return /^\d+$/.test(part) && known.has(measure) ? { words: part, measure } : part;
      }));
    }
    end = /** @type {number} */ (match.index) + whole.length;
  }
  const match = counted.length === 0 ? null : COUNTED.exec(sentence);
  if (match !== null) {
    end = match.index + match[0].length;
    pieces.push(sentence.slice(0, end), " (");
    pieces.push(...counted.flatMap((measure, index) => [index === 0 ? "" : ", ", { words: String(measure), measure }]), ")");
  }
  pieces.push(sentence.slice(end));
  return pieces.filter((piece) => piece !== "");
}

/**
 * The measures that a sentence only counts, to be named behind it.
 *
 * @param {string} sentence
 * @param {import("./moments.js").SaidRecord[]} said what was said of the pass, as the report's file has it
 * @param {number} played measures of the pass
 * @returns {number[]} empty where the sentence names them itself, where it is about all of them, and where they are many
 */
export function countedMeasures(sentence, said, played) {
  const numbers = said.find(({ text }) => text === sentence)?.measures ?? [];
  const named = new RegExp(NAMED).test(sentence);
  return named || numbers.length >= played || numbers.length > MOST_LINKS ? [] : numbers;
}
