/**
 * The list of tunes: its order, and what of it is found by a few letters.
 *
 * Pure: no document.
 *
 * @module book_list
 */

/** @typedef {import("./messages.js").TuneLine} TuneLine */

/** With more tunes than these there is a field to find one by. */
export const LONG = 12;

/** The most tunes that are shown as found. */
export const MOST_FOUND = 8;

/**
 * The tunes by title, numbers in their order, and those of one title by key.
 *
 * @param {TuneLine[]} tunes
 * @returns {TuneLine[]}
 */
export function byTitle(tunes) {
  const order = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
  return [...tunes].sort((a, b) => order.compare(a.title, b.title) || order.compare(a.key, b.key));
}

/**
 * The tunes of which title and key have every word that was typed, whatever the case and the accents; those whose title
 * begins with what was typed come first.
 *
 * @param {TuneLine[]} tunes in the order to be kept
 * @param {string} typed
 * @returns {TuneLine[]} none where nothing was typed
 */
export function found(tunes, typed) {
  const words = plain(typed).split(/\s+/).filter((word) => word !== "");
  if (words.length === 0) {
    return [];
  }
  const fitting = tunes.filter((tune) => words.every((word) => plain(`${tune.title} ${tune.key}`).includes(word)));
  const begins = (/** @type {TuneLine} */ tune) => plain(tune.title).startsWith(words.join(" "));
  return [...fitting.filter(begins), ...fitting.filter((tune) => !begins(tune))];
}

/** @param {string} text */
function plain(text) {
  return text.normalize("NFD").replace(/\p{Mark}/gu, "").toLowerCase();
}

/**
 * The tiers that are still to come of a tune that is being worked out.
 *
 * @param {{waiting: string, solos: Record<string, string>}} state
 * @param {boolean} study whether it is a roll study, which has one tier
 * @returns {string[]}
 */
export function tiersToCome({ waiting, solos }, study) {
  const all = ["beginner", "intermediate", "advanced"];
  return waiting === "" || study ? [] : all.filter((tier) => !(tier in solos));
}
