/**
 * The words about listening.
 *
 * @module listen_texts
 */

import { measures, number } from "./wording.js";

export const LISTEN_TEXT = Object.freeze({
  listen: {
    fetching: "Fetching what sounds …",
    /**
     * @param {string} tier empty where the solo is of several
     * @param {import("./player.js").SoloCues} cues
     */
    now: (tier, { first, last, tempo }) =>
      `You hear ${tier === "" ? "this solo" : `the ${tier} solo`}, ${measures(first, last)}, at ${number(tempo)} quarters a minute.`,
    /** @param {string} why */
    failed: (why) => `It cannot be heard now: ${why}`,
  },
});
