/**
 * What of a pass a player would look at again: the gravest faults of a report, each with its place.
 *
 * Pure: no document.
 *
 * @module moments
 */

import { fraction } from "./written.js";

/** The most moments that are shown. */
export const MOST_MOMENTS = 8;

/** What a fault weighs, a missed note being 1; a fault of the melody counts MELODY times. Own choice, no source. */
const WEIGHT = Object.freeze({ missed: 1, "wrong note": 1.2, "other string": 0.5, extra: 0.8 });
const MELODY = 1.5;

/** Milliseconds off time that weigh as much as a missed note. */
const OFF_AS_MISSED_MS = 120;

/** A row of missed notes weighs no more than so many. */
const MOST_IN_A_ROW = 6;

/**
 * @typedef {{id: string, measure: number, pass: number, verdict: string, offset_ms: number | null,
 *   pitch: number | null, string: number | null}} NoteRecord
 * @typedef {{measure: number, pass: number, at: string, pitch: number, string: number | null,
 *   fault: boolean}} ExtraRecord
 * @typedef {{pass: number, whole: boolean, measures: string}} PassRecord
 * @typedef {{pass: number, positions: {slot: number, offset_ms: number}[]}} PlayingRecord
 * @typedef {{pass: number, text: string, measures: number[]}} SaidRecord
 * @typedef {{digest: string, lean_ms: number, free?: boolean, notes: NoteRecord[], extra: ExtraRecord[],
 *   passes: PassRecord[], playing: PlayingRecord[], said: SaidRecord[]}} ReportFile
 * A report as its file has it, format `report/1`, as far as the page uses it.
 *
 * @typedef {{lean: number, whole: boolean, notes: NoteRecord[], extras: ExtraRecord[],
 *   positions: {slot: number, offset_ms: number}[], said: SaidRecord[]}} LastPass
 * The last pass of a report; `lean` in milliseconds.
 *
 * @typedef {{kind: "missed" | "wrong note" | "other string" | "early" | "late" | "extra", measure: number, at: number,
 *   key: string, count: number, last: number, off: number, pitch: number | null, string: number | null,
 *   pluck: any}} Moment
 * A fault. `at` is in quarters from the start of its measure, `key` names its mark on the sheet; missed notes in a row
 * are one moment of `count` notes that ends in measure `last`; `off` is how far from the player's own time it was, in
 * milliseconds and positive; `pitch` and `string` were played, and `pluck` was written (null for an extra note).
 */

/**
 * The pass that was played last.
 *
 * @param {ReportFile | ReportFile[]} file a report, or several, one for each solo
 * @param {string} digest of the solo that was played
 * @returns {LastPass | null} null where the file has no pass of this solo
 */
export function lastPass(file, digest) {
  const all = (Array.isArray(file) ? file : [file])
    .filter((report) => report.digest === digest)
    .flatMap((report) => report.passes.map((pass) => ({ report, pass })));
  const last = all.reduce((a, b) => (a !== null && a.pass.pass > b.pass.pass ? a : b), /** @type {any} */ (null));
  if (last === null) {
    return null;
  }
  const { report, pass } = /** @type {{report: ReportFile, pass: PassRecord}} */ (last);
  const own = (/** @type {{pass: number}} */ record) => record.pass === pass.pass;
  return {
    lean: report.lean_ms,
    whole: pass.whole,
    notes: report.notes.filter(own),
    extras: report.extra.filter(own),
    positions: report.playing.find(own)?.positions ?? [],
    said: report.said.filter(own),
  };
}

/**
 * The notes that a pass came to. What a stop cut off is no fault: of a pass that was not played to its end nothing counts
 * behind the last note that was heard.
 *
 * @param {LastPass} pass
 */
export function reachedNotes({ whole, notes }) {
  return whole ? notes : notes.slice(0, notes.map(({ verdict }) => verdict !== "missed").lastIndexOf(true) + 1);
}

/**
 * The gravest faults, in the order in which they were played.
 *
 * @param {LastPass} pass
 * @param {any} arrangement the solo, as in its file
 * @param {number} [most]
 * @returns {Moment[]}
 */
export function momentsOf(pass, arrangement, most = MOST_MOMENTS) {
  const plucks = new Map(arrangement.measures.flatMap((/** @type {any} */ m) => m.plucks.map((/** @type {any} */ p) => [p.id, p])));
  const found = [...notesOf(reachedNotes(pass), plucks, pass.lean), ...extrasOf(pass.extras)];
  const gravest = found.sort((a, b) => b.weight - a.weight || before(a.moment, b.moment)).slice(0, most);
  return gravest.map(({ moment }) => moment).sort(before);
}

/**
 * @param {NoteRecord[]} notes in order
 * @param {Map<string, any>} plucks
 * @param {number} lean
 * @returns {{moment: Moment, weight: number}[]}
 */
function notesOf(notes, plucks, lean) {
  /** @type {{moment: Moment, weight: number}[]} */
  const found = [];
  let inARow = false;
  for (const note of notes) {
    const pluck = plucks.get(note.id);
    const missed = note.verdict === "missed";
    const last = found.at(-1);
    if (pluck !== undefined && note.verdict !== "on time") {
      const off = note.offset_ms === null ? 0 : Math.abs(note.offset_ms - lean);
      const weight = weightOf(note.verdict, off) * (pluck.role === "melody" ? MELODY : 1);
      if (missed && inARow && last !== undefined) {
        last.moment.count += 1;
        last.moment.last = note.measure;
        last.weight = Math.min(last.weight + weight, MOST_IN_A_ROW);
      } else {
        const { pitch, string } = note;
        const { measure } = note;
        const kind = /** @type {Moment["kind"]} */ (note.verdict);
        const at = fraction(pluck.at);
        found.push({ moment: { kind, measure, at, key: note.id, count: 1, last: measure, off, pitch, string, pluck }, weight });
      }
    }
    inARow = missed;
  }
  return found;
}

/**
 * @param {ExtraRecord[]} extras
 * @returns {{moment: Moment, weight: number}[]} of those that did harm
 */
function extrasOf(extras) {
  return extras
    .filter((extra) => extra.fault)
    .map(({ measure, at, pitch, string }) => ({
      moment: {
        kind: "extra",
        measure,
        at: fraction(at),
        key: extraKey({ measure, at, pitch, string }),
        count: 1,
        last: measure,
        off: 0,
        pitch,
        string,
        pluck: null,
      },
      weight: WEIGHT.extra,
    }));
}

/**
 * The name of an extra note's mark on the sheet.
 *
 * @param {{measure: number, at?: string | null, pitch: number | null, string: number | null}} extra
 */
export function extraKey({ measure, at, pitch, string }) {
  return `extra ${measure} ${at} ${pitch} ${string}`;
}

/**
 * @param {string} verdict
 * @param {number} off milliseconds
 */
function weightOf(verdict, off) {
  return verdict in WEIGHT ? WEIGHT[/** @type {keyof typeof WEIGHT} */ (verdict)] : off / OFF_AS_MISSED_MS;
}

/**
 * @param {Moment} a
 * @param {Moment} b
 */
function before(a, b) {
  return a.measure - b.measure || a.at - b.at;
}

/** What is said between two beats, by the share of the beat that is past. */
const SIMPLE = Object.freeze([[0.25, "the e"], [0.5, "the and"], [0.75, "the a"]]);
const COMPOUND = Object.freeze([[1 / 3, "the second part"], [2 / 3, "the third part"]]);

/**
 * A place in a measure as it is counted aloud, in the words of the explanations of a solo.
 *
 * @param {{number: number, meter: string, length: string}} measure as in the arrangement
 * @param {number} at quarters from its start
 * @returns {string} "beat 2", "the and of beat 2"
 */
export function counted({ number, meter, length }, at) {
  const [count, unit] = meter.split("/").map(Number);
  const compound = count % 3 === 0 && count > 3 && unit >= 8;
  const beat = (4 / unit) * (compound ? 3 : 1);
  const missing = number === 0 ? Math.max(0, (count * 4) / unit - fraction(length)) : 0; // a pickup counts from its end
  const place = (at + missing) / beat + 1e-9;
  const named = `beat ${Math.floor(place) + 1}`;
  const share = place - Math.floor(place);
  const [, word] = (compound ? COMPOUND : SIMPLE).find(([one]) => Math.abs(Number(one) - share) < 0.01) ?? [];
  if (word !== undefined) {
    return `${word} of ${named}`;
  }
  return share < 0.01 ? named : `just after ${named}`;
}
