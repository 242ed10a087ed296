/**
 * A tune that is being written down: a value, and what can be done to it.
 *
 * Pure: every change gives a new draft. Lengths are counted in ticks, 48 to a quarter note, so that sixteenths, dots and
 * triplets are whole numbers.
 *
 * @module enter_tune
 */

/** Ticks of a quarter note. */
export const QUARTER = 48;

/** The lengths that can be chosen, in ticks, the longest first. */
export const LENGTHS = Object.freeze([192, 96, 48, 24, 12]);

/** As long as a tune to be written down may be, in notes and rests. */
export const MOST_NOTES = 1000;

/** Metres that can be chosen. */
export const METERS = Object.freeze(["4/4", "2/2", "3/4", "2/4", "6/8", "9/8", "12/8", "3/8"]);

/**
 * @typedef {{pitch: number | null, length: number, triplet: boolean, tied: boolean,
 *   string: number | null, fret: number | null}} DraftNote
 * A note, or a rest where `pitch` is null; its `length` in ticks as it sounds, whether it belongs to a triplet, whether it
 * is tied to the next; where it was played, if that is known.
 *
 * @typedef {{title: string, meter: string, tonic: string, mode: string, tempo: number, pickup: number, words: string,
 *   notes: readonly DraftNote[], chords: Readonly<Record<number, string>>}} Draft
 * `pickup` in ticks, 0 for none; `chords` by the tick from the first note at which they begin; `words` with a space
 * between words, a hyphen between syllables and `*` for a note without one.
 */

/**
 * A draft with nothing in it.
 *
 * @type {Draft}
 */
export const EMPTY = Object.freeze({
  title: "", meter: "4/4", tonic: "G", mode: "major", tempo: 100, pickup: 0, words: "", notes: [], chords: {},
});

/**
 * The length of a measure.
 *
 * @param {string} meter such as `6/8`
 * @returns {number} ticks
 */
export function measureOf(meter) {
  const [count, unit] = meter.split("/").map(Number);
  return (count * 4 * QUARTER) / unit;
}

/**
 * The length of a beat: in a compound metre three of its notes.
 *
 * @param {string} meter
 * @returns {number} ticks
 */
export function beatOf(meter) {
  const [count, unit] = meter.split("/").map(Number);
  return (count % 3 === 0 && count > 3 && unit === 8 ? 3 : 1) * ((4 * QUARTER) / unit);
}

/**
 * A length as it sounds.
 *
 * @param {number} plain one of {@link LENGTHS}
 * @param {{dotted: boolean, triplet: boolean}} how
 * @returns {number} ticks
 */
export function lengthOf(plain, { dotted, triplet }) {
  return (plain * (dotted ? 3 : 2)) / (triplet ? 3 : 2);
}

/**
 * The length that has to be chosen for a note.
 *
 * @param {{length: number, triplet: boolean}} note
 * @returns {{plain: number, dotted: boolean, triplet: boolean} | null} null where no single choice has it
 */
export function choiceOf({ length, triplet }) {
  const choices = LENGTHS.flatMap((plain) => [false, true].map((dotted) => ({ plain, dotted, triplet })));
  return choices.find((choice) => lengthOf(choice.plain, choice) === length) ?? null;
}

/**
 * Where each note begins.
 *
 * @param {Draft} draft
 * @returns {number[]} ticks from the first note; one more at the end, where the next note would begin
 */
export function startsOf(draft) {
  const starts = [0];
  for (const { length } of draft.notes) {
    starts.push(starts[starts.length - 1] + length);
  }
  return starts;
}

/**
 * The measure at a tick.
 *
 * @param {Draft} draft
 * @param {number} tick from the first note
 * @returns {{measure: number, within: number}} numbered from 1, or from 0 where there is a pickup; ticks from its start as
 *   it would be counted: a pickup stands at the end of its measure
 */
export function placeOf(draft, tick) {
  const full = measureOf(draft.meter);
  const from = tick + (draft.pickup > 0 ? full - draft.pickup : full);
  return { measure: Math.floor(from / full), within: from % full };
}

/**
 * Where in a measure, as beats are counted: `1`, `2½`.
 *
 * @param {number} within ticks
 * @param {string} meter
 */
export function countedBeat(within, meter) {
  const beat = beatOf(meter);
  const part = (within % beat) / beat;
  const signs = /** @type {[number, string][]} */ ([[0, ""], [1 / 4, "¼"], [1 / 3, "⅓"], [1 / 2, "½"], [2 / 3, "⅔"], [3 / 4, "¾"]]);
  const [, sign] = signs.reduce((best, each) => (Math.abs(each[0] - part) < Math.abs(best[0] - part) ? each : best));
  return `${Math.floor(within / beat) + 1}${sign}`;
}

/**
 * Puts a note in.
 *
 * @param {Draft} draft
 * @param {number} index of the note that will stand behind it; the number of notes for the end
 * @param {DraftNote} note
 * @returns {Draft} the same where no more have room
 */
export function inserted(draft, index, note) {
  if (draft.notes.length >= MOST_NOTES) {
    return draft;
  }
  const at = startsOf(draft)[index];
  return {
    ...draft,
    notes: settled([...draft.notes.slice(0, index), note, ...draft.notes.slice(index)]),
    chords: moved(draft.chords, at, index === draft.notes.length ? 0 : note.length),
  };
}

/**
 * Puts another note in the place of one.
 *
 * @param {Draft} draft
 * @param {number} index
 * @param {Partial<DraftNote>} change
 * @returns {Draft}
 */
export function replaced(draft, index, change) {
  const before = draft.notes[index];
  const note = { ...before, ...change };
  const chords = moved(draft.chords, startsOf(draft)[index + 1], note.length - before.length);
  const notes = settled(draft.notes.map((other, at) => (at === index ? note : other)));
  return { ...draft, notes, chords };
}

/**
 * Takes a note out, and what begins with it.
 *
 * @param {Draft} draft
 * @param {number} index
 * @returns {Draft}
 */
export function removed(draft, index) {
  const starts = startsOf(draft);
  const kept = Object.entries(draft.chords).filter(([at]) => Number(at) < starts[index] || Number(at) >= starts[index + 1]);
  const chords = moved(Object.fromEntries(kept), starts[index + 1], -draft.notes[index].length);
  return { ...draft, notes: settled(draft.notes.filter((_, at) => at !== index)), chords };
}

/**
 * Holds a note on: one more of its pitch behind it, tied to it.
 *
 * @param {Draft} draft
 * @param {number} index of a note; of a rest there is nothing to be held
 * @param {{length: number, triplet: boolean}} by
 * @returns {Draft}
 */
export function heldOn(draft, index, by) {
  const note = draft.notes[index];
  const longer = inserted(draft, index + 1, { ...note, ...by });
  return longer === draft ? draft : replaced(longer, index, { tied: true });
}

/**
 * Notes of which none is tied to another pitch.
 *
 * @param {readonly DraftNote[]} notes
 */
function settled(notes) {
  return notes.map((note, index) =>
    note.tied && (note.pitch === null || notes[index + 1]?.pitch !== note.pitch) ? { ...note, tied: false } : note,
  );
}

/**
 * Names the chord that begins at a tick, or takes it away.
 *
 * @param {Draft} draft
 * @param {number} tick
 * @param {string} name empty for none
 * @returns {Draft}
 */
export function harmonised(draft, tick, name) {
  const { [tick]: _, ...others } = draft.chords;
  return { ...draft, chords: name === "" ? others : { ...others, [tick]: name } };
}

/**
 * The chord that holds at a tick.
 *
 * @param {Draft} draft
 * @param {number} tick
 * @returns {string} empty where none has begun
 */
export function chordAt(draft, tick) {
  const begun = Object.keys(draft.chords).map(Number).filter((at) => at <= tick);
  return begun.length === 0 ? "" : draft.chords[Math.max(...begun)];
}

/**
 * The syllables of words, as they stand under notes.
 *
 * @param {string} words
 * @returns {(string | null)[]} ending in a hyphen where the word goes on; null for a note without one
 */
export function syllablesOf(words) {
  // Signs by which words are laid under notes in ABC would move all that follow.
  const plain = words.replace(/[_|~\\%"]/g, "").replace(/-+/g, "- ").trim();
  return plain === "" ? [] : plain.split(/\s+/).map((part) => (part === "*" || part === "-" ? null : part.replaceAll("*", "")));
}

/**
 * The chords that come most easily to a key: its home, the fourth and fifth above, and their neighbours.
 *
 * @param {Draft} draft
 * @param {(pitchClass: number) => string} spell names a root
 * @returns {string[]}
 */
export function usualChords({ tonic, mode }, spell) {
  const home = pitchClassOf(tonic);
  const steps = USUAL[mode] ?? USUAL.major;
  return steps.map(([step, quality]) => `${spell((home + step) % 12)}${quality}`);
}

/**
 * Semitones above the home note, and the kind of chord. Common practice, no source.
 *
 * @type {Record<string, [number, string][]>}
 */
const USUAL = {
  major: [[0, ""], [5, ""], [7, ""], [7, "7"], [9, "m"], [2, "m"], [4, "m"], [2, "7"]],
  minor: [[0, "m"], [5, "m"], [7, "7"], [7, "m"], [3, ""], [10, ""], [8, ""]],
  dorian: [[0, "m"], [5, ""], [10, ""], [3, ""], [7, "m"]],
  mixolydian: [[0, ""], [10, ""], [5, ""], [7, "m"], [2, "m"]],
};

/**
 * The pitch class of a note name.
 *
 * @param {string} name such as `F#` or `Bb`
 * @returns {number} 0..11
 */
export function pitchClassOf(name) {
  const signs = (name.match(/#/g)?.length ?? 0) - (name.slice(1).match(/b/g)?.length ?? 0);
  return (((/** @type {Record<string, number>} */ ({ C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 })[name[0]] + signs) % 12) + 12) % 12;
}

/**
 * Chords from a tick on, moved.
 *
 * @param {Readonly<Record<number, string>>} chords
 * @param {number} from
 * @param {number} by
 */
function moved(chords, from, by) {
  return by === 0 ? chords : Object.fromEntries(Object.entries(chords).map(([at, name]) => [Number(at) + (Number(at) >= from ? by : 0), name]));
}

/**
 * A draft as it is kept on the device.
 *
 * @param {string | null} text JSON of a draft
 * @returns {Draft} an empty one where it cannot be read
 */
export function readDraft(text) {
  try {
    const read = { ...EMPTY, ...JSON.parse(text ?? "{}") };
    const fits =
      [read.title, read.words, read.tonic].every((value) => typeof value === "string") &&
      /^[A-G][#b]?$/.test(read.tonic) &&
      Object.hasOwn(USUAL, read.mode) &&
      METERS.includes(read.meter) &&
      Number.isInteger(read.pickup) && read.pickup >= 0 && read.pickup < measureOf(read.meter) &&
      read.tempo >= 20 && read.tempo <= 400 &&
      Array.isArray(read.notes) && read.notes.length <= MOST_NOTES && read.notes.every(isNote) &&
      Object.entries(read.chords).every(([at, name]) => Number.isInteger(Number(at)) && typeof name === "string");
    return fits ? read : EMPTY;
  } catch {
    return EMPTY; // it was not written here
  }
}

/** @param {any} note */
function isNote(note) {
  return (
    (note?.pitch === null || (Number.isInteger(note?.pitch) && note.pitch >= 0 && note.pitch <= 127)) &&
    Number.isInteger(note.length) && note.length > 0 && typeof note.triplet === "boolean" && typeof note.tied === "boolean"
  );
}
