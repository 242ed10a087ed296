/**
 * A tune that was written down, as ABC.
 *
 * Pure. References: the ABC music standard 2.1, sections 3 (fields), 4.3, 4.8, 4.11, 4.13, 4.18 (lengths, barlines, ties,
 * triplets, chord symbols) and 5.1 (words), from memory.
 *
 * @module abc_tune
 */

import { Pitches, keyField } from "./abc_names.js";
import { beatOf, measureOf, startsOf, syllablesOf } from "./enter_tune.js";

/** @typedef {import("./enter_tune.js").Draft} Draft */
/** @typedef {import("./enter_tune.js").DraftNote} DraftNote */

/** Ticks of the unit length that is written: an eighth note. */
const UNIT = 24;

/** The lengths in ticks that one sign can have, dotted ones too, the longest first. */
const SIGNS = [288, 192, 144, 96, 72, 48, 36, 24, 18, 12];

/**
 * @typedef {{note: DraftNote | null, length: number, chord: string, first: boolean, tied: boolean, bar: boolean,
 *   beat: boolean}} Piece
 * A note, or a part of one that a barline or a chord cuts, or that is too long for one sign; null for the rest that fills
 * the last measure. `bar` and `beat`: whether it ends with a measure, with a beat.
 */

/**
 * The notes cut into what is written by one sign: where a barline stands, where a chord begins, and in the longest values.
 *
 * @param {Draft} draft
 * @returns {Piece[]}
 */
export function piecesOf(draft) {
  const full = measureOf(draft.meter);
  const beat = beatOf(draft.meter);
  const shift = draft.pickup > 0 ? full - draft.pickup : 0;
  const starts = startsOf(draft);
  const end = starts[starts.length - 1];
  const missing = (full - ((end + shift) % full)) % full;
  // With a pickup, the last measure may be as short as it leaves it.
  const filled = draft.pickup > 0 && missing === draft.pickup && end > draft.pickup ? 0 : missing;
  const chords = Object.keys(draft.chords).map(Number).sort((a, b) => a - b);
  /** @type {Piece[]} */
  const pieces = [];
  const cut = (/** @type {DraftNote | null} */ note, /** @type {number} */ from, /** @type {number} */ to) => {
    for (let at = from; at < to; ) {
      const barline = at + full - ((at + shift) % full);
      const chord = chords.find((begins) => begins > at) ?? Infinity;
      const most = Math.min(to, barline, chord) - at;
      const next = at + (note?.triplet ? most : (SIGNS.find((sign) => sign <= most) ?? most));
      pieces.push({
        note,
        length: next - at,
        chord: draft.chords[at] ?? "",
        first: at === from,
        tied: note !== null && note.pitch !== null && (next < to || note.tied),
        bar: (next + shift) % full === 0,
        beat: (next + shift) % beat === 0,
      });
      at = next;
    }
  };
  draft.notes.forEach((note, index) => cut(note, starts[index], starts[index + 1]));
  if (draft.notes.length > 0) {
    cut(null, end, end + filled);
  }
  return pieces;
}

/**
 * A length behind a note.
 *
 * @param {number} ticks as written
 */
function lengthText(ticks) {
  let [top, bottom] = [ticks, UNIT];
  while (bottom !== 0) {
    [top, bottom] = [bottom, top % bottom];
  }
  const [over, under] = [ticks / top, UNIT / top];
  return `${over === 1 ? "" : over}${under === 1 ? "" : `/${under}`}`;
}

/**
 * How many pieces from here on make a triplet: as many as fill three of the shortest, or stand in one measure.
 *
 * @param {Piece[]} pieces
 * @param {number} from
 */
function tripletFrom(pieces, from) {
  let [sum, shortest] = [0, Infinity];
  for (let index = from; index < pieces.length && pieces[index].note?.triplet; index += 1) {
    sum += pieces[index].length;
    shortest = Math.min(shortest, pieces[index].length);
    if (sum % (3 * shortest) === 0 || pieces[index].bar) {
      return index - from + 1;
    }
    if (!pieces[index + 1]?.note?.triplet) {
      return index - from + 1;
    }
  }
  return 0;
}

/**
 * The music.
 *
 * @param {Draft} draft
 * @returns {string} on one line; empty where there is none
 */
export function musicOf(draft) {
  const pieces = piecesOf(draft);
  const pitches = new Pitches(draft);
  let text = "";
  let inTriplet = 0;
  for (const [index, piece] of pieces.entries()) {
    const { note } = piece;
    if (piece.chord !== "") {
      text += `"${chordText(piece.chord)}"`;
    }
    if (inTriplet === 0 && note?.triplet) {
      inTriplet = tripletFrom(pieces, index);
      text += inTriplet === 3 ? "(3" : `(3:2:${inTriplet}`;
    }
    const written = inTriplet > 0 ? (piece.length * 3) / 2 : piece.length;
    text += (note === null || note.pitch === null ? "z" : pitches.write(note.pitch)) + lengthText(written);
    text += piece.tied && index < pieces.length - 1 && pieces[index + 1].note?.pitch != null ? "-" : "";
    inTriplet = Math.max(0, inTriplet - 1);
    if (index === pieces.length - 1) {
      text += " |]";
    } else if (piece.bar) {
      text += " | ";
      pitches.bar();
    } else if (piece.beat && inTriplet === 0) {
      text += " ";
    }
  }
  return text;
}

/**
 * The words, a syllable a note.
 *
 * @param {Draft} draft
 * @returns {string} as they stand behind `w:`; empty where there are none
 */
export function wordsOf(draft) {
  const syllables = syllablesOf(draft.words);
  if (syllables.every((syllable) => syllable === null)) {
    return "";
  }
  let next = 0;
  let held = false;
  const laid = [];
  for (const { note, first, tied } of piecesOf(draft)) {
    if (note === null || note.pitch === null) {
      held = false;
      continue;
    }
    if (!first || held) {
      laid.push("*"); // held on: what is sung was sung already
    } else {
      laid.push(syllables[next] || "*");
      next += 1;
    }
    held = tied;
  }
  while (laid[laid.length - 1] === "*") {
    laid.pop();
  }
  if (/^\d/.test(laid[0])) {
    laid[0] = `~${laid[0]}`; // a number before the first word would be read as that of the verse
  }
  return laid.join(" ").replace(/- (?=\S)/g, "-");
}

/**
 * The tune as a file.
 *
 * @param {Draft} draft
 * @param {string} untitled its title where it has none
 * @returns {string}
 */
export function abcOf(draft, untitled) {
  const words = wordsOf(draft);
  const lines = [
    "%abc-2.1",
    "X:1",
    `T:${plain(draft.title) || untitled}`,
    `M:${draft.meter}`,
    "L:1/8",
    `Q:1/4=${Math.round(draft.tempo)}`,
    `K:${keyField(draft)}`,
    musicOf(draft),
    ...(words === "" ? [] : [`w:${words}`]),
  ];
  return `${lines.join("\n")}\n`;
}

/**
 * A name for the file.
 *
 * @param {Draft} draft
 * @param {string} untitled
 */
export function fileName(draft, untitled) {
  const name = (plain(draft.title) || untitled).toLowerCase().replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "");
  return `${name.slice(0, 60) || "tune"}.abc`;
}

/**
 * A title on one line, without what ABC reads as a comment or a code.
 *
 * @param {string} text
 */
function plain(text) {
  return text.replace(/[%\\\p{Cc}]+/gu, " ").replace(/\s+/g, " ").trim();
}

/**
 * A chord name without what would end it.
 *
 * @param {string} name
 */
function chordText(name) {
  return name.replace(/["%\\\p{Cc}]+/gu, "");
}
