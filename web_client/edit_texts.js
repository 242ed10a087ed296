/**
 * What the page says of explaining and editing a solo.
 *
 * @module edit_texts
 */

import { playedWords } from "./marks.js";
import { measureList } from "./wording.js";

/** @typedef {import("./edit_measure.js").Pluck} Pluck */
/** @typedef {import("./edit_measure.js").Measure} Measure */

/** @type {Record<string, string>} */
const FINGERS = { T: "thumb", I: "index finger", M: "middle finger" };

/** @type {Record<string, string>} */
const SLURS = { slide: "slid to", "hammer-on": "hammered on", "pull-off": "pulled off" };

/** @type {Record<string, string>} */
const ROLES = { melody: "melody", fill: "fill", drone: "drone", pinch: "pinch", lick: "lick" };

const STANDS = Object.freeze({
  locked: "This measure is locked: it stays as it is whenever the solo is written anew.",
  edited: "Notes of this measure were changed by hand.",
});

/** Up to what a way costs more or less it is about as good as the one that stands, and where a little worse ends. */
const [ABOUT, LITTLE] = [1, 5];

/**
 * A place on the neck.
 *
 * @param {number} string
 * @param {number} fret
 */
function neckPlace(string, fret) {
  return `string ${string}, ${fret === 0 ? "open" : `fret ${fret}`}`;
}

/**
 * How a pluck is sounded, in words.
 *
 * @param {Pluck} pluck
 */
function how(pluck) {
  if (pluck.technique === "pick") {
    return FINGERS[pluck.finger ?? "T"];
  }
  const from = pluck.from_fret ?? 0;
  return `${SLURS[pluck.technique]} from ${from === 0 ? "the open string" : `fret ${from}`}`;
}

/** @param {string} text */
function capital(text) {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
}

export const EDIT_TEXT = Object.freeze({
  edit: {
    explain: "Explain",
    edit: "Edit",
    /** @param {number} measure what the two are about */
    measure: (measure) => ` measure ${measure}`,
    /**
     * @param {number} measure
     * @param {string} tier of the measure, in a mixed solo
     */
    head: (measure, tier) => `Measure ${measure}${tier === "" ? "" : `, ${tier}`}`,
    explaining: "Reading what is to be said of it …",
    /** @param {string} why */
    unexplained: (why) => `What is to be said of it could not be fetched: ${why}`,
    /**
     * @param {{difficulty: number, largest: string}} explained
     */
    difficulty: ({ difficulty, largest }) =>
      `Difficulty ${difficulty.toFixed(1)}${largest === "" ? "" : `; ${largest} add most`}.`,
    /** @param {number[]} others measures that are the same on paper */
    wherever: (others) => (others.length === 0 ? "" : `An edit here holds for ${measureList(others)} too.`),
    /** Signs on strip and sheet, in words. @type {Record<string, string>} */
    signs: { locked: "locked", edited: "edited by hand" },
    /**
     * How a measure stands, and which rules its edits break.
     *
     * @param {"locked" | "edited" | undefined} sign
     * @param {string[]} remarks on all measures
     * @param {number} measure
     */
    stands: (sign, remarks, measure) =>
      [
        ...(sign === undefined ? [] : [STANDS[sign]]),
        ...remarks.filter((remark) => remark.startsWith(`Measure ${measure} `)),
      ].join(" "),
    /** @type {Record<string, string>} What is asked, while the solo is written anew, and when that is done. */
    done: {
      take: "That way stands here now, locked.",
      lock: "The measure is locked.",
      free: "The measure is free again, as the coach writes it.",
      replace: "The note was changed.",
      add: "The note was added.",
      "leave out": "The note is left out.",
      undo: "Taken back.",
      redo: "Done again.",
    },
    writing: "The solo is being written anew …",
    notNow: "There is no connection, so nothing was changed. Try again when it is back.",

    /** @param {number} measure */
    grid: (measure) => `Measure ${measure} as it stands, string by string`,
    /**
     * A place of the grid.
     *
     * @param {number} string
     * @param {string} beat as it is counted
     * @param {Pluck | null} pluck
     */
    cell: (string, beat, pluck) =>
      pluck === null
        ? `${capital(beat)}, string ${string}: nothing`
        : `${capital(beat)}, ${neckPlace(string, pluck.fret)}: ${how(pluck)}, ${ROLES[pluck.role]}`,
    /**
     * What is known of the chosen pluck.
     *
     * @param {string} beat as it is counted
     * @param {Pluck} pluck
     * @param {string | null} syllable sung to it
     */
    pluck: (beat, pluck, syllable) =>
      `${capital(beat)}: ${neckPlace(pluck.string, pluck.fret)}, ${how(pluck)}. It sounds ` +
      `${playedWords({ pitch: pluck.pitch })}; ${
        pluck.role === "melody" ? `it carries the melody${syllable === null ? "" : ` (“${syllable}”)`}` : `a ${ROLES[pluck.role]} note`
      }.`,
    /**
     * @param {string} beat
     * @param {number} string
     */
    empty: (beat, string) => `${capital(beat)}: nothing on string ${string} yet.`,
    /**
     * @param {string | null} sounds the pitch of the place; null where there is none
     * @param {string | null} melody the pitch of the melody note here
     */
    sounds: (sounds, melody) =>
      [
        ...(sounds === null ? [] : [`It would sound ${sounds}.`]),
        ...(melody === null ? [] : [`The melody has ${melody} here.`]),
      ].join(" "),
    change: "Change it",
    add: "Add it",
    picking: "Touch the place on the pad, or press its key …",
    pick: "Choose the place on the pad",

    /** What is wrong with a pluck as it is written. */
    noFret: "Give a fret from 0 to 22.",
    noShort: "String 5 begins at its 5th fret: give 0, or 6 and up.",
    noFrom: "Give the fret that it is slurred from, 0 to 22.",
    noMove: "A slur goes from one fret to another: give two that differ.",
    noHammer: "A hammer-on goes up: give a lower fret to come from, or make it a pull-off.",
    noPull: "A pull-off goes down: give a higher fret to come from, or make it a hammer-on.",
    sameAsBefore: "It stands like this already.",

    /**
     * A position as it is counted aloud.
     *
     * @param {number} beat from 1
     * @param {number} share of the beat that is past, 0..1
     * @param {boolean} compound whether the beat divides into three
     */
    counted: (beat, share, compound) => {
      /** @type {Record<string, string>} */
      const words = compound
        ? { 0: "", 0.333: "the second part of ", 0.667: "the third part of " }
        : { 0: "", 0.25: "the e of ", 0.5: "the and of ", 0.75: "the a of " };
      const said = words[String(Math.round(share * 1000) / 1000)];
      return said === undefined ? `${Math.round(share * 100)} % of a beat after beat ${beat}` : `${said}beat ${beat}`;
    },
  },

  ways: {
    looking: "Looking for other ways …",
    none: "No other way through it differs enough: in two slots at least, and in a quarter of them.",
    /** @param {string} why */
    failed: (why) => `Other ways could not be fetched: ${why}`,
    /** @param {number} count */
    head: (count) => `Way ${count}`,
    /**
     * How natural a way is beside the one that stands.
     *
     * @param {number} extra what it costs more
     */
    extra: (extra) => {
      const more = extra > 0 ? "less" : "more";
      if (Math.abs(extra) <= ABOUT) {
        return "about as good";
      }
      return Math.abs(extra) <= LITTLE ? `a little ${more} natural` : `${more} natural`;
    },
    take: "Take this",
    /**
     * @param {number} count
     * @param {number} measure
     */
    takeFull: (count, measure) => `Take way ${count} through measure ${measure}`,
    /**
     * @param {number} count
     * @param {number} measure
     */
    picture: (count, measure) => `Way ${count} through measure ${measure}, in tab`,
  },
});
