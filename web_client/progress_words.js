/**
 * Every word of the page of progress, and what it says about the facts.
 *
 * Pure: no document.
 *
 * @module progress_words
 */

import { partsOf } from "./progress_days.js";
import { counted } from "./wording.js";

const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");

/** @type {Record<string, string>} */
const KINDS = {
  whole: "the whole",
  part: "some measures",
  spot: "a trouble spot",
  "warm-up": "warm-up",
  known: "something known",
  jam: "jam run",
};

/** @type {Record<import("./progress_days.js").Unit, string>} */
const EACH = { day: "a day", week: "a week", month: "a month" };

/** @param {number} day */
function date(day) {
  const { month, day: of } = partsOf(day);
  return `${of} ${MONTHS[month - 1]}`;
}

/** @param {number} tempo */
function tempo(tempo) {
  return String(Math.round(tempo));
}

/** @param {number} minutes */
function minutes(minutes) {
  const whole = minutes > 0 ? Math.max(1, Math.round(minutes)) : 0;
  const left = whole % 60;
  return whole < 100 ? `${whole} min` : `${Math.floor(whole / 60)} h${left === 0 ? "" : ` ${left} min`}`;
}

/**
 * @param {string[]} names at least one
 */
function listed(names) {
  return names.length === 1 ? names[0] : `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}`;
}

/**
 * @param {number} day
 * @param {number} today
 * @returns {string} with its year, where that is another one
 */
function dateAnyYear(day, today) {
  const { year } = partsOf(day);
  return year === partsOf(today).year ? date(day) : `${date(day)} ${year}`;
}

export const WORDS = Object.freeze({
  date,
  dateAnyYear,
  tempo,
  goal: (/** @type {number} */ goal) => `goal ${tempo(goal)}`,
  each: (/** @type {import("./progress_days.js").Unit} */ unit) => EACH[unit],

  /**
   * The month of a day, and in January the year.
   *
   * @param {number} day
   */
  month: (day) => {
    const { year, month } = partsOf(day);
    return month === 1 ? String(year) : MONTHS[month - 1];
  },

  /** @param {string} tier */
  tier: (tier) => tier[0].toUpperCase() + tier.slice(1),

  /**
   * @param {import("./progress_days.js").Unit} unit
   * @param {import("./progress_days.js").Stretch} stretch
   * @param {number} today
   */
  stretch: (unit, { first }, today) =>
    unit === "day"
      ? dateAnyYear(first, today)
      : unit === "week"
        ? `week of ${dateAnyYear(first, today)}`
        : `${MONTHS[partsOf(first).month - 1]} ${partsOf(first).year}`,

  page: {
    /** @param {string} title */
    title: (title) => (title === "" ? "Progress" : `Progress: ${title}`),
    tier: "Tier",
    loading: "Looking it up …",
    unplayed: "This tune has not been played yet. Choose another.",
    nothing: "Nothing has been played yet. After the first pass it is seen here.",
    away: "The coach does not answer. What is shown may be old; load the page again when it runs.",
    /** @param {string} name */
    asTable: (name) => `${name}, as a table`,
  },

  glance: {
    head: (/** @type {string} */ title) => `${title} at a glance`,
    /**
     * @param {string} tier
     * @param {{tempo: number, day: number} | null} best the fastest whole pass that was clean
     * @param {number} today
     * @param {number | null} goal
     */
    best: (tier, best, today, goal) => {
      const aim = goal === null ? "" : ` The goal is ${tempo(goal)}.`;
      return best === null
        ? `No whole pass of the ${tier} tier was clean yet.${aim}`
        : `The fastest clean pass of the ${tier} tier: ${tempo(best.tempo)}, on ${dateAnyYear(best.day, today)}.${aim}`;
    },
    /**
     * @param {number} there measures that are ready at the goal
     * @param {number} all
     */
    reached: (there, all) =>
      all === 1
        ? `The measure that was heard is ${there === 1 ? "" : "not yet "}ready at the goal.`
        : there === all
          ? `All ${all} measures that were heard are ready at the goal.`
          : `Ready at the goal: ${there === 0 ? "none" : there} of the ${all} measures that were heard.`,
    /** @param {import("./progress_picture.js").ReadyLine[]} slow one or two */
    slow: (slow) =>
      `Slowest: ${listed(slow.map(({ measure, tempo: ready }) => `measure ${measure} (ready at ${tempo(ready)})`))}.`,
    /**
     * @param {number} played minutes of the last seven days
     * @param {number} days on which something was played
     * @param {number} before minutes of the seven days before
     */
    week: (played, days, before) =>
      `The last seven days: ${played === 0 ? "nothing" : `${minutes(played)} on ${counted(days, "day", "days")}`}. The seven before: ${before === 0 ? "nothing" : minutes(before)}.`,
  },

  tunes: {
    head: ["Tune", "Minutes", "Passes", "Last played"],
  },

  climb: {
    name: "The climb",
    desc: (/** @type {string} */ each) =>
      `Tempo of whole passes, in quarters a minute: the fastest clean one of ${each} in each tier.`,
    none: "No whole pass of this tune in this time.",
    clean: "filled: the fastest clean one",
    tried: "hollow: the slowest, where none was clean",
    range: "slowest to fastest",
    goal: "goal",
    head: ["When", "Tier", "Slowest", "Fastest", "Fastest clean", "Whole passes"],
    /** @param {{when: string, tier: string, low: number, high: number, clean: number | null, passes: number}} facts */
    told: ({ when, tier, low, high, clean, passes }) =>
      `${when}, ${tier}: ${counted(passes, "whole pass", "whole passes")} at ${
        tempo(low) === tempo(high) ? tempo(low) : `${tempo(low)} to ${tempo(high)}`
      }, ${clean === null ? "none clean" : `fastest clean ${tempo(clean)}`}`,
  },

  grid: {
    name: "Measures, pass by pass",
    none: "No pass of this tune yet.",
    /**
     * @param {number} shown
     * @param {number} there
     */
    desc: (shown, there) =>
      `A column for each pass, the newest on the right (${shown < there ? `the last ${shown} of ${there}` : `${shown} in all`}). Above, its tempo and tier, filled where the pass was clean. Empty: not played, or a pass that is not told by measures (a jam run, or one that you marked yourself).`,
    clean: "clean",
    unclean: "not clean",
    goal: "goal",
    mixed: "of the next tier",
    free: "no click",
    /** @param {import("./progress_picture.js").PassLine} pass */
    tier: ({ tier, mix }) =>
      mix.length === 0 ? WORDS.tier(tier) : `${WORDS.tier(tier)}; ${mix.join(", ")} of the next`,
    head: ["Pass", "Tempo", "Tier", "What", "Went"],
    kind: (/** @type {string} */ kind) => KINDS[kind] ?? kind,
    /**
     * @param {string} when
     * @param {import("./progress_picture.js").PassLine} pass
     */
    told: (when, pass) =>
      `${when}, ${pass.tier}, ${WORDS.grid.kind(pass.kind)} at ${tempo(pass.tempo)}: ${WORDS.grid.went(pass)}`,
    /** @param {import("./progress_picture.js").PassLine} pass */
    went: (pass) => (pass.clean ? "clean" : pass.whole ? "not clean" : "stopped"),
  },

  ready: {
    name: "Ready tempo of each measure",
    none: "No measure of this tier has been heard yet.",
    /**
     * @param {string} tier
     * @param {boolean} all whether each measure has one
     */
    desc: (tier, all) =>
      `${WORDS.tier(tier)} tier: where four passes in five of a measure are clean. Nine times in ten that lies within the interval.${
        all ? "" : " A measure without it was not heard to the click yet."
      }`,
    mark: "ready tempo",
    interval: "interval",
    slow: "slowest",
    there: (/** @type {number} */ value) => `✓ ${tempo(value)}`,
    head: ["Measure", "Ready tempo", "From", "To", "Against the goal", "Rests on passes"],
    /**
     * @param {number} ready
     * @param {number} goal
     */
    against: (ready, goal) => {
      const gap = Math.round(ready) - Math.round(goal);
      return gap >= 0 ? `reached${gap > 0 ? ` (+${gap})` : ""}` : `${-gap} below`;
    },
    /** @param {import("./progress_picture.js").ReadyLine} line */
    told: (line) =>
      `Measure ${line.measure}: ready at ${tempo(line.tempo)}, between ${tempo(line.low)} and ${tempo(line.high)}, from ${counted(line.passes, "pass", "passes")}`,
  },

  minutes: {
    /** @param {import("./progress_days.js").Unit} unit */
    name: (unit) => `Minutes ${EACH[unit]}`,
    none: "Nothing was played in this time.",
    /**
     * @param {string} title
     * @param {import("./progress_days.js").Unit} unit
     * @param {boolean} going whether the last stretch is not over yet
     */
    desc: (title, unit, going) =>
      `The filled part of a bar is ${title}, the open part everything else.${going ? ` The last ${unit} is not over yet.` : ""}`,
    other: "everything else",
    head: (/** @type {string} */ title) => ["When", "All", title],
    long: minutes,
    /**
     * @param {number} value
     * @param {number} most the highest of the scale
     */
    scale: (value, most) => (most > 120 ? `${value / 60} h` : `${value} min`),
    /**
     * @param {string} when
     * @param {number} all
     * @param {string} title
     * @param {number} own
     */
    told: (when, all, title, own) => `${when}: ${minutes(all)}, of them ${title} ${minutes(own)}`,
  },
});
