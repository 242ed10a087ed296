/**
 * What the page says of the ladder: rungs, mixed solos, sittings, drills.
 *
 * @module ladder_texts
 */

import { tierAfter } from "./tiers.js";
import { counted, isWhole, measureList, measures, number, tempo } from "./wording.js";

/** @typedef {import("./messages.js").Rung} Rung */
/** @typedef {import("./messages.js").State} State */

/** @type {Record<Rung["use"], string>} */
const HEADS = {
  whole: "Next rung",
  part: "Next rung: your measures",
  spot: "Next rung: a trouble spot",
  "warm-up": "Next rung: to warm up",
  known: "Next rung: something you know",
  jam: "Next rung: a run as in a jam",
};

/**
 * @param {string} tier
 * @param {number[]} mix its measures of the next tier
 */
function tierWords(tier, mix) {
  return mix.length === 0 ? tier : `${tier}, ${measureList(mix)} ${tierAfter(tier)}`;
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export const LADDER_TEXT = Object.freeze({
  rung: {
    /** @param {Rung} rung */
    head: (rung) => (rung.offer_tier ? `Next rung: the ${rung.offer_tier} tier begins` : HEADS[rung.use]),
    /**
     * @param {Rung} rung
     * @param {string} meter of its tune
     */
    what: (rung, meter) => {
      const pace = tempo(rung.tempo, meter);
      const range = measures(rung.first, rung.last);
      const title = rung.title === "" ? "" : `${rung.title}: `;
      switch (rung.use) {
        case "warm-up":
          return `${title}${pace}`;
        case "known":
          return `${title}${tierWords(rung.tier, rung.mix)}, ${pace}`;
        case "jam":
          return `${title}kick-off, break, back-up, break again, ending; ${tierWords(rung.tier, rung.mix)}, ${pace}`;
        case "spot":
          return `${title}${range} alone, ${pace}; ${tierWords(rung.tier, rung.mix)}`;
        default:
          return `${title}${tierWords(rung.tier, rung.mix)}, ${pace}, ${range}`;
      }
    },
    /**
     * @param {Rung} rung
     * @returns {string} empty where there is nothing unusual
     */
    sounds: (rung) => {
      if (rung.solo) {
        return rung.backing
          ? "The solo sounds along, to be learned by ear."
          : "The solo sounds along, to be learned by ear; no bass and chop.";
      }
      return rung.backing ? "" : "With the click alone, no bass and chop.";
    },
  },

  mix: {
    /** @param {[tier: string, measures: number[]][]} byTier at least one */
    facts: (byTier) => {
      const [[base], ...more] = byTier;
      return [base, ...more.map(([tier, numbers]) => `${measureList(numbers)} ${tier}`)].join(", ");
    },
    /** @param {State} state */
    words: (state) => `${capital(measureList(state.mix))}: ${tierAfter(state.tier)} already.`,
    /** @param {State} state */
    none: (state) => `All of it ${state.tier}`,
    /**
     * @param {number} measure
     * @param {string} tier
     */
    take: (measure, tier) => `Play measure ${measure} as ${tier}`,
  },

  sitting: {
    /** @param {import("./messages.js").SittingState} sitting */
    played: ({ minutes, played }) =>
      played >= minutes
        ? `Sitting: all ${counted(Math.round(minutes), "minute", "minutes")} played`
        : `Sitting: ${Math.floor(played)} of ${counted(Math.round(minutes), "minute", "minutes")}`,
    rest: "Half an hour has been played: rest your hands for a few minutes.",
  },

  drill: {
    /** @param {string} title of the tune at hand; empty where there is none */
    tune: (title) => (title === "" ? "Measures of the tune" : `Measures of ${title}`),
    goalBelow: "The goal has to be no slower than the start.",
    backwards: "The first measure has to come before the last.",
    /** @param {State} state */
    words: (state) =>
      `${isWhole(state) ? state.title : `${capital(measures(state.first, state.last))} of ${state.title}`}: ` +
      `${number(state.step)} up after ` +
      `${state.clean_needed === 1 ? "each clean pass" : `${state.clean_needed} clean passes in a row`}, ` +
      `to ${number(state.goal)}.`,
    /** @param {State} state */
    foot: ({ foot_start, foot_again, foot_next }) => {
      const set = [
        [foot_start, "starts and stops"],
        [foot_again, "plays it again"],
        [foot_next, "takes the next rung"],
      ].filter(([name]) => name !== "");
      return set.length === 0
        ? "A foot switch can start, repeat and go on: set one in the settings."
        : `By foot: ${set.map(([name, does]) => `${name} ${does}`).join(", ")}.`;
    },
    here: ", where you are",
  },
});
