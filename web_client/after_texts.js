/**
 * What the page says after a pass, beside the service's own sentences.
 *
 * @module after_texts
 */

import { counted as placed } from "./moments.js";
import { counted, number } from "./wording.js";

/** @typedef {import("./moments.js").Moment} Moment */
/** @typedef {import("./roll_plot.js").Position} Position */

const LETTERS = ["C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "G♯", "A", "B♭", "B"];

/** @param {number | null} pitch MIDI */
function letter(pitch) {
  return pitch === null ? "another note" : LETTERS[pitch % 12];
}

/** @param {number} ms */
function away(ms) {
  const whole = Math.abs(Math.round(ms));
  return whole === 0 ? "even" : `${whole} ms ${ms > 0 ? "late" : "early"}`;
}

export const AFTER_TEXT = Object.freeze({
  done: {
    heads: { ladder: "The ladder is at its goal", solo: "At the goal, and clean", sitting: "The minutes are played" },
    ends: { ladder: "End the ladder", solo: "Another tune", sitting: "End the sitting" },
    /**
     * @param {"ladder" | "solo" | "sitting"} what
     * @param {import("./messages.js").State} state
     */
    words: (what, { title, goal }) =>
      what === "sitting"
        ? "Put the banjo down, or play on as long as your hands are easy."
        : `${title} was clean at ${number(goal)}. Play it once more to be sure, climb on, or take something else.`,
    /** @param {number} goal quarters a minute */
    on: (goal) => `Climb on to ${number(goal)}`,
  },

  after: {
    /** @param {number} measure */
    link: (measure) => `Show measure ${measure}`,
    /**
     * Where a fault was.
     *
     * @param {Moment} moment
     * @param {any} measure as in the arrangement
     */
    where: (moment, measure) => {
      const place = placed(measure, moment.at);
      if (moment.count < 2) {
        return `Measure ${moment.measure}, ${place}`;
      }
      const name = moment.last === moment.measure ? `Measure ${moment.measure}` : `Measures ${moment.measure} to ${moment.last}`;
      return `${name}, from ${place}`;
    },
    /**
     * What it was.
     *
     * @param {Moment} moment
     */
    what: ({ kind, count, off, pitch, string, pluck }) => {
      switch (kind) {
        case "missed":
          return count > 1
            ? `${counted(count, "note", "notes")} missed`
            : `missed, on string ${pluck.string}`;
        case "wrong note":
          return letter(pitch) === letter(pluck.pitch)
            ? `${letter(pitch)} in another octave`
            : `${letter(pitch)} in place of ${letter(pluck.pitch)}`;
        case "other string":
          return string === null ? "on another string" : `on string ${string}, not ${pluck.string}`;
        case "extra":
          return `${letter(pitch)}, which is not written`;
        default:
          return off < 1 ? kind : `${kind} by ${Math.round(off)} ms`;
      }
    },
    /** @param {number} lean milliseconds */
    lean: (lean) =>
      Math.abs(lean) < 5
        ? ""
        : `Early and late are told from your own steady time, ${Math.abs(Math.round(lean))} ms ${lean > 0 ? "behind" : "ahead of"} the click.`,
    none: "Nothing went wrong that would be worth another look.",
    cut: "What lies behind the last note that was heard does not count against you.",
    failed: "What was heard cannot be fetched now; it is kept in the files below.",
    /**
     * @param {{early: Position | null, late: Position | null}} extremes
     * @param {(slot: number) => string} named
     */
    roll: ({ early, late }, named) => {
      const parts = [
        early === null ? "" : `${named(early.slot)} comes earliest, by ${Math.round(-early.offset_ms)} ms`,
        late === null ? "" : `${named(late.slot)} latest, by ${Math.round(late.offset_ms)} ms`,
      ].filter((part) => part !== "");
      if (parts.length === 0) {
        return "The notes of the roll follow each other evenly.";
      }
      const said = early === null ? parts[0].replace("latest", "comes latest") : parts.join("; ");
      return `${said.charAt(0).toUpperCase()}${said.slice(1)}.`;
    },
    /**
     * @param {number} slot of the roll, from 1
     * @param {string | undefined} count as it is counted aloud
     */
    rollNote: (slot, count) => (count === undefined || count === "·" ? `note ${slot}` : `note ${slot} (${count})`),
    rollAway: away,
    /** @param {number} ms of the scale */
    rollScale: (ms) => (ms === 0 ? "even" : `${ms > 0 ? "late" : "early"} ${number(Math.abs(ms))}`),
    /** @param {Position[]} positions */
    rollPicture: (positions) =>
      `How early or late each note of the roll comes: ${positions.map(({ slot, offset_ms }) => `${slot}: ${away(offset_ms)}`).join(", ")}.`,
    play: "Play",
    stop: "Stop",
    fetching: "Fetching what was heard …",
    /** @param {string} why */
    noTake: (why) => `It cannot be heard now: ${why}`,
    /** @type {Record<string, string>} what sounds */
    sounds: { take: "What you played.", solo: "The solo, as written.", both: "You on the left, the solo on the right." },
  },
});
