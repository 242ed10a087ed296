/**
 * The words of what a teacher does for a student, on the page of practice. Another language is another file like this one.
 *
 * Pure: no document.
 *
 * @module studio_english
 */

import { counted, number } from "./english.js";

/** @param {string} day a date */
function dayOf(day) {
  return new Date(`${day}T12:00:00`).toLocaleDateString("en-GB", { weekday: "long", day: "numeric", month: "long" });
}

export const STUDIO = Object.freeze({
  account: (/** @type {string} */ name) => `${name}: your account`,
  offer: (/** @type {{by: string, words: string}} */ { by, words }) => `${by} would set: ${words}`,
  agree: "Agree",
  always: "Agree, and to all while they listen",
  decline: "No",
  declined: "Nothing was changed.",
  set: {
    head: "Set by your teacher",
    what: (/** @type {import("./studio.js").Assignment} */ { title, tier, mix, goal }) =>
      `${title}, ${tier}${mix.length === 0 ? "" : ` with ${counted(mix.length, "measure", "measures")} of the next tier`}, up to ${number(goal)}`,
    until: (/** @type {string} */ day) => `until ${dayOf(day)}`,
    reached: (/** @type {number | null} */ tempo) =>
      tempo === null ? "not yet clean from end to end" : `clean at ${number(tempo)}`,
    practise: "Practise this",
    now: "This is what you practise now.",
  },
  pins: {
    head: "Pinned to this tune",
    measure: (/** @type {number} */ measure) => `Measure ${measure}`,
    by: (/** @type {string} */ by, /** @type {string} */ made) =>
      `${by === "" ? "" : `${by}, `}${new Date(made).toLocaleDateString("en-GB", { day: "numeric", month: "long" })}`,
    read: "I have read it",
    sign: (/** @type {string} */ words) => `Your teacher wrote: ${words}`,
  },
});
