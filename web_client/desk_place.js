/**
 * Where on the desk somebody is, as the address says behind its `#`: so that the browser's own way back works.
 *
 * Pure: no document.
 *
 * @module desk_place
 */

/** @typedef {"now" | "open" | "set" | "people" | "tunes"} View */

/** @type {readonly View[]} */
export const VIEWS = Object.freeze(["now", "open", "set", "people", "tunes"]);

/**
 * @param {string} hash of the address, with its `#`
 * @returns {{view: View, student: string} | null} `student`: who is opened, or for whom something is to be set; null where it is no place of the desk
 */
export function placeOf(hash) {
  const [view, student = ""] = hash.slice(1).split("=");
  if (view === "") {
    return { view: "now", student: "" };
  }
  const known = VIEWS.find((one) => one === view);
  const named = /^[a-z0-9-]{1,40}$/.test(student);
  const fits = known === "open" ? named : student === "" || (known === "set" && named);
  return known === undefined || !fits ? null : { view: known, student };
}
