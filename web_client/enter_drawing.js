/**
 * A draft as it is seen: tab with stems, letters and words below it, chords above, line by line.
 *
 * Pure: places and signs as plain values, in pixels of the drawing. Signs of length are those of the tab of the sheets:
 * stems below the strings, a flag for an eighth, two for a sixteenth; half notes have half a stem, whole notes none.
 *
 * @module enter_drawing
 */

import { nameOf } from "./abc_names.js";
import { QUARTER, measureOf, placeOf, startsOf, syllablesOf } from "./enter_tune.js";
import { pitchAt, placesOf } from "./neck.js";

/** @typedef {import("./enter_tune.js").Draft} Draft */
/** @typedef {import("./enter_tune.js").DraftNote} DraftNote */

/** Pixels: between strings; of a line of tab with all about it; above the first string; where stems begin and end. */
export const GAP = 13;
export const LINE = 168;
export const TOP = 34;
const BOTTOM = TOP + 4 * GAP;
export const STEM = Object.freeze({ from: BOTTOM + 10, to: BOTTOM + 34, letter: BOTTOM + 52, word: BOTTOM + 72 });

const NARROWEST = 24;
const EDGE = 10;

/**
 * @typedef {{x: number, width: number, row: number, index: number, string: number | null, text: string, letter: string,
 *   word: string, stem: "none" | "half" | "full", flags: number, dots: number, three: boolean, tied: boolean,
 *   held: boolean, rest: boolean, cut: boolean}} Sign
 * A note or a part of it: `x` of its middle, `row` its line of tab, `index` that of its note; `string` null where it lies on
 * no place of the neck; `three` that a triplet's 3 stands over it; `tied` that it goes on into the next sign and `held` that
 * it is the going on; `cut` that a barline only cuts it.
 *
 * @typedef {{row: number, x: number}} Mark
 * @typedef {{width: number, rows: number, signs: Sign[], bars: Mark[], chords: (Mark & {name: string})[],
 *   numbers: (Mark & {number: number})[], ends: Mark[], cursor: Mark}} Drawing
 * `ends` tells how wide each line of tab is; `cursor` where the next note will stand.
 */

/** The lengths that have a sign, longest first: ticks, stem, flags, dots. */
const SIGNS = /** @type {[number, "none" | "half" | "full", number, number][]} */ ([
  [288, "none", 0, 1], [192, "none", 0, 0], [144, "half", 0, 1], [96, "half", 0, 0], [72, "full", 0, 1], [48, "full", 0, 0],
  [36, "full", 1, 1], [24, "full", 1, 0], [18, "full", 2, 1], [12, "full", 2, 0],
]);

/**
 * The sign of a length.
 *
 * @param {number} ticks as they sound
 * @param {boolean} triplet
 */
export function signOf(ticks, triplet) {
  const written = triplet ? (ticks * 3) / 2 : ticks;
  const [, stem, flags, dots] = SIGNS.find(([length]) => length <= written) ?? SIGNS[SIGNS.length - 1];
  return { stem, flags, dots };
}

/**
 * Where a note lies on the neck: where it was played, or else the lowest place that has its pitch.
 *
 * @param {DraftNote} note
 * @param {Record<string, number>} strings open pitches
 * @returns {{string: number, fret: number} | null}
 */
export function placeOn(note, strings) {
  const { string, fret, pitch } = note;
  if (string !== null && fret !== null && pitchAt(strings, 0, string, fret) === pitch) {
    return { string, fret };
  }
  return pitch === null ? null : (placesOf(strings, 0, pitch)[0] ?? null);
}

/**
 * @param {Draft} draft
 * @param {Record<string, number>} strings open pitches
 * @param {number} width of the drawing
 * @returns {Drawing}
 */
export function drawingOf(draft, strings, width) {
  const starts = startsOf(draft);
  const full = measureOf(draft.meter);
  const words = wordsUnder(draft);
  /** @type {Drawing} */
  const drawing = {
    width, rows: 1, signs: [], bars: [], chords: [], numbers: [], ends: [], cursor: { row: 0, x: 0 },
  };
  let [row, x] = [0, EDGE];
  /** @type {Sign[]} the signs of the measure at hand, and where it began */
  let measure = [];
  let began = x;
  let names = /** @type {(Mark & {name: string})[]} */ ([]);
  const number = (/** @type {number} */ tick) => drawing.numbers.push({ row, x: x - 4, number: placeOf(draft, tick).measure });
  // A measure that has no room goes to the next line, unless it has a line to itself.
  const wrap = () => {
    if (x > width - EDGE && began > EDGE) {
      drawing.ends.push({ row, x: began });
      row += 1;
      for (const each of [...measure, ...names]) {
        each.row = row;
        each.x -= began - EDGE;
      }
      const moved = drawing.numbers[drawing.numbers.length - 1];
      moved.row = row;
      moved.x -= began - EDGE;
      x -= began - EDGE;
      began = EDGE;
    }
  };
  number(0);
  draft.notes.forEach((note, index) => {
    for (let at = starts[index]; at < starts[index + 1]; ) {
      const { within } = placeOf(draft, at);
      const next = Math.min(starts[index + 1], at + full - within);
      const place = placeOn(note, strings);
      const first = at === starts[index];
      const wide = Math.max(NARROWEST, 12 + 5 * Math.sqrt(next - at), first ? 12 + 7.5 * (words[index] ?? "").length : 0);
      const sign = {
        x: x + wide / 2, width: wide, row, index,
        string: place?.string ?? null,
        text: note.pitch === null ? "" : String(place?.fret ?? "?"),
        letter: note.pitch === null ? "" : nameOf(draft, note.pitch % 12),
        word: first ? (words[index] ?? "") : "",
        ...signOf(next - at, note.triplet),
        three: note.triplet && !draft.notes[index - 1]?.triplet,
        tied: note.pitch !== null && (note.tied || next < starts[index + 1]),
        held: note.pitch !== null && (!first || draft.notes[index - 1]?.tied === true),
        rest: note.pitch === null,
        cut: !first,
      };
      drawing.signs.push(sign);
      measure.push(sign);
      for (const [tick, name] of Object.entries(draft.chords)) {
        if (Number(tick) >= at && Number(tick) < next) {
          names.push({ row, x: x + 4 + (wide * (Number(tick) - at)) / (next - at), name });
        }
      }
      x += wide;
      wrap();
      at = next;
      if (placeOf(draft, at).within === 0) {
        x += 6;
        drawing.bars.push({ row, x });
        x += 8;
        drawing.chords.push(...names);
        [measure, names, began] = [[], [], x];
        number(at);
      }
    }
  });
  drawing.chords.push(...names);
  for (const [tick, name] of Object.entries(draft.chords)) {
    if (Number(tick) >= starts[starts.length - 1]) {
      drawing.chords.push({ row, x: x + 4, name });
    }
  }
  if (x + NARROWEST > width && measure.length === 0 && draft.notes.length > 0) {
    drawing.ends.push({ row, x: began });
    row += 1;
    x = EDGE;
    drawing.numbers[drawing.numbers.length - 1].row = row;
    drawing.numbers[drawing.numbers.length - 1].x = x - 4;
  }
  drawing.cursor = { row, x: x + NARROWEST / 2 };
  drawing.ends.push({ row, x: x + NARROWEST });
  return { ...drawing, rows: row + 1 };
}

/**
 * The syllable under each note; a note that is tied to the one before has none of its own.
 *
 * @param {Draft} draft
 * @returns {(string | null)[]}
 */
function wordsUnder(draft) {
  const syllables = syllablesOf(draft.words);
  let next = 0;
  return draft.notes.map(({ pitch }, index) => {
    const sung = pitch !== null && draft.notes[index - 1]?.tied !== true;
    next += sung ? 1 : 0;
    return sung ? (syllables[next - 1] ?? null) : null;
  });
}
