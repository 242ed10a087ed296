/**
 * What the page says of the tune book.
 *
 * @module book_texts
 */

import { counted } from "./wording.js";

export const BOOK_TEXT = Object.freeze({
  book: {
    tunes: "Tunes",
    studies: "Roll studies",
    /** @param {import("./messages.js").TuneLine} tune */
    tune: (tune) => (tune.study ? tune.title : `${tune.title} (${tune.key})`),
    /**
     * @param {number} count that were found
     * @param {number} all
     * @param {number} shown
     */
    found: (count, all, shown) =>
      count === 0
        ? `None of the ${all} tunes has these letters.`
        : `${count} of ${counted(all, "tune", "tunes")}${shown < count ? `, the first ${shown} here; type on to find fewer` : ""}`,
    toCome: "not yet",
    /** @param {string} name */
    reading: (name) => `Reading ${name} …`,
    /**
     * @param {{title: string, tunes?: unknown[], complaints: string[]}} told
     * @param {string} name of the file
     */
    added: ({ title, tunes = [], complaints }, name) =>
      [
        tunes.length > 1 ? `${tunes.length} tunes of ${name} are in the tune book now.` : `“${title}” is in the tune book now.`,
        ...complaints,
      ].join(" "),
    /**
     * @param {string} name
     * @param {string} text what was wrong, with its place
     */
    refused: (name, text) => (text.includes(name) ? text : `${name}: ${text}`),
    /** @param {string} name */
    notSent: (name) => `${name} could not be sent; try again when the connection is back.`,
  },
});
