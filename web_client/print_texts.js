/**
 * The words on a printed sheet.
 *
 * @module print_texts
 */

import { counted, tempo } from "./wording.js";

const LETTERS = ["C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "G♯", "A", "B♭", "B"];

/** From string 5 to string 1; the drone, which is the highest, is written small. */
const STRINGS = ["5", "4", "3", "2", "1"];

export const PRINT_TEXT = Object.freeze({
  papers: "Or take it as a file, with repeats folded:",
  /** Papers of the file, as the service knows them, and their names. */
  kinds: /** @type {const} */ ([
    ["a4", "A4 (.pdf)"],
    ["letter", "Letter (.pdf)"],
  ]),
  name: "Name",
  date: "Date",
  /**
   * What a player needs to know before the first note.
   *
   * @param {any} arrangement as in its file
   * @param {string} facts tier, key, capo, tuning and metre
   * @returns {string[]} lines
   */
  lines: (arrangement, facts) => {
    const letters = STRINGS.map((string) => {
      const letter = LETTERS[arrangement.tuning.strings[string] % 12];
      return string === "5" ? letter.toLowerCase() : letter;
    });
    return [facts, `Strings 5 to 1: ${letters.join(" ")} · ${counted(arrangement.measures.length, "measure", "measures")}`];
  },
  /**
   * @param {{tempo: number, goal: number}} state
   * @param {string} meter
   */
  tempo: (state, meter) => {
    const up = state.goal > state.tempo ? `, up to ${tempo(state.goal, meter)}` : "";
    return `Tempo: ${tempo(state.tempo, meter)}${up}`;
  },
  unloaded: "The sheet for printing could not be fetched; try again when the connection is back.",
});
