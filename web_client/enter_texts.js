/**
 * What the page says while a tune is written down.
 *
 * @module enter_texts
 */

/** @type {Record<number, string>} by ticks, as in `enter_tune.js` */
const LENGTHS = { 192: "whole", 96: "half", 48: "quarter", 24: "eighth", 12: "sixteenth" };

export const ENTER_TEXT = Object.freeze({
  enter: {
    untitled: "A tune without a name",
    lengths: LENGTHS,
    /** @type {Record<string, string>} */
    modes: { major: "major", minor: "minor", dorian: "dorian", mixolydian: "mixolydian" },
    /** @param {number} eighths */
    pickup: (eighths) => (eighths === 0 ? "none" : eighths === 2 ? "a quarter" : eighths === 1 ? "an eighth" : `${eighths} eighths`),
    /**
     * @param {{measure: number, beat: string}} place
     * @param {string} next what will be written there
     */
    next: ({ measure, beat }, next) => `${measure === 0 ? "Pickup" : `Measure ${measure}`}, beat ${beat}. Next: ${next}.`,
    /**
     * @param {{measure: number, beat: string}} place
     * @param {string} what
     */
    chosen: ({ measure, beat }, what) => `${measure === 0 ? "Pickup" : `Measure ${measure}`}, beat ${beat}: ${what}. Touch a place to change it.`,
    /**
     * @param {number} plain ticks
     * @param {{dotted: boolean, triplet: boolean}} how
     */
    length: (plain, { dotted, triplet }) => `${triplet ? "triplet " : ""}${dotted ? "dotted " : ""}${LENGTHS[plain]} note`,
    /**
     * @param {string} letter empty for a rest
     * @param {string} chord
     */
    what: (letter, chord) => `${letter === "" ? "a rest" : `the note ${letter}`}${chord === "" ? "" : `, over ${chord}`}`,
    /**
     * @param {number} notes
     * @param {number} measures
     */
    picture: (notes, measures) =>
      notes === 0 ? "Nothing is written yet." : `The tune so far: ${notes} notes and rests, ${measures} measures.`,
    /** @param {number} beat */
    beat: (beat) => (beat === 0 ? "where it begins" : `${beat} beat${beat === 1 ? "" : "s"} later`),
    badChord: "That is no chord name that can be read; write it like G, D7, Em or F#m7.",
    noNotes: "There is no note yet: touch a place of the pad, or play one.",
    noTitle: "Give the tune a title, so that it is found in the tune book.",
    giving: "The coach reads it …",
    /**
     * @param {string} title
     * @param {string[]} complaints
     */
    given: (title, complaints) => [`“${title}” is in the tune book. Its three tiers are being written.`, ...complaints].join(" "),
    notGiven: "It could not be sent, but it is kept here; try again when the connection is back.",
    full: "No more notes have room in one tune.",
    silent: "The page cannot sound its click. Touch the page and try again.",
    record: "Play it to the click",
    stop: "Stop, and put it down",
    /** @param {number} beats */
    count: (beats) => `Count-in: ${beats}`,
    /** @param {number} measure */
    measure: (measure) => `Measure ${measure}`,
    pickupNow: "Pickup",
    /**
     * @param {number} notes
     * @param {number} lateMs
     */
    took: (notes, lateMs) =>
      `${notes} note${notes === 1 ? "" : "s"} put down` +
      (Math.abs(lateMs) < 15 ? "." : `; all together they came ${Math.abs(Math.round(lateMs))} ms ${lateMs > 0 ? "late" : "early"}, which is taken off.`) +
      " Choose a note to put it right.",
    tookNone: "No note was heard, so nothing was changed.",
    cleared: "Begun anew. Undo brings the old one back.",
  },
});
