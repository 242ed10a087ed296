/**
 * The words that the scripts of the page of a week say. Another language is another file like this one.
 *
 * Pure: no document.
 *
 * @module week_english
 */

import { SIGNS } from "./tiers.js";

/** @param {number} count @param {string} one @param {string} [many] */
function counted(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}

/** @param {number} tempo */
function tempoOf(tempo) {
  return String(Math.round(tempo));
}

/**
 * A date as one says it.
 *
 * @param {string} day as `2026-03-08`
 * @param {Intl.DateTimeFormatOptions} how
 */
function date(day, how) {
  return new Date(`${day.slice(0, 10)}T12:00`).toLocaleDateString("en-GB", how);
}

/** @param {number} minutes */
function minutesOf(minutes) {
  return minutes > 0 && minutes < 1 ? "Less than a minute" : counted(Math.round(minutes), "minute");
}

export const WEEK = Object.freeze({
  loading: "Looking it up …",
  away: "The service cannot be reached; try again in a moment.",
  alone: "Weeks are told in a studio, where people sign in.",
  nobody: "There is no student in the studio yet.",
  nothing: "Nothing was played in this week.",
  of: (/** @type {string} */ name) => (name === "" ? "Week" : `${name}: week`),

  title: (/** @type {string} */ name, /** @type {string} */ first, /** @type {string} */ last) => {
    const same = first.slice(0, 7) === last.slice(0, 7);
    const from = date(first, same ? { day: "numeric" } : { day: "numeric", month: "long" });
    return `${name}: ${from} to ${date(last, { day: "numeric", month: "long", year: "numeric" })}`;
  },

  glance: (/** @type {{minutes: number, passes: number}} */ week, /** @type {number} */ days, /** @type {number} */ sittings) =>
    `${minutesOf(week.minutes)} on ${counted(days, "day")}, in ${counted(sittings, "sitting")} and ${counted(week.passes, "pass", "passes")}.`,

  minutes: Object.freeze({
    head: "Minutes",
    columns: ["Day", "Minutes", "Tunes"],
    day: (/** @type {string} */ day) => date(day, { weekday: "short", day: "numeric", month: "short" }),
    amount: (/** @type {number} */ minutes) => (minutes === 0 ? "–" : minutes < 1 ? "< 1" : String(Math.round(minutes))),
    tune: (/** @type {string} */ title, /** @type {number} */ minutes) => `${title} ${minutes < 1 ? "< 1" : Math.round(minutes)}`,
    sittings: (/** @type {{day: string, minutes: number, planned: number | null}[]} */ sittings) =>
      `Sittings: ${sittings.map((one) => `${date(one.day, { weekday: "short" })} ${one.minutes < 1 ? "< 1" : Math.round(one.minutes)} min${one.planned === null ? "" : ` of ${Math.round(one.planned)}`}`).join(", ")}.`,
  }),

  climb: Object.freeze({
    head: "The climb",
    columns: ["Tune", "Tier", "Before", "Now", "Ready", "Goal", "Clean"],
    none: "No pass went through a whole solo to the click.",
    note: "Before and now: the fastest clean pass of the whole, in quarters a minute, before the week and until its end. Ready: four passes in five would be clean.",
    tempo: (/** @type {number | null} */ tempo) => (tempo === null ? "–" : tempoOf(tempo)),
    clean: (/** @type {number} */ clean, /** @type {number} */ passes) => `${clean} of ${passes}`,
  }),

  held: Object.freeze({
    head: "What held back",
    columns: ["Measure", "Tune", "Not clean", "Now"],
    none: "No measure failed more than once.",
    failed: (/** @type {number} */ failed, /** @type {number} */ played) => `${failed} of ${played}`,
    now: (/** @type {boolean} */ clean) => (clean ? "✓ clean" : "✗ not yet"),
  }),

  habits: Object.freeze({
    head: "Habits",
    none: "None was found.",
    often: (/** @type {number} */ passes, /** @type {number} */ of) => ` (in ${passes} of ${counted(of, "pass", "passes")})`,
  }),

  takes: Object.freeze({
    head: "Worth hearing",
    none: "No take stands out.",
    play: "Play",
    stop: "Stop",
    hear: (/** @type {Take} */ take) =>
      `${take.title}, ${measuresOf(take)}at ${tempoOf(take.tempo)}, ${date(take.day, { weekday: "short", day: "numeric", month: "short" })}`,
    what: (/** @type {Take} */ take) =>
      `${take.title} ${SIGNS[take.tier] ?? ""} at ${tempoOf(take.tempo)}, ${date(take.day, { weekday: "long" })}`,
    fetching: "Fetching the take …",
  }),

  set: Object.freeze({
    head: "Set",
    none: "Nothing was set.",
    what: (/** @type {Assignment} */ one) =>
      `${one.title}, ${one.tier}${one.mix.length === 0 ? "" : ` with measures ${one.mix.join(", ")} of the next tier`}: goal ${tempoOf(one.goal)}${one.until === "" ? "" : `, until ${date(one.until, { day: "numeric", month: "long" })}`}`,
    far: (/** @type {Assignment} */ one) =>
      one.reached === null
        ? "No clean pass of the whole yet."
        : one.reached >= one.goal
          ? `Reached: clean at ${tempoOf(one.reached)}.`
          : `Clean at ${Math.floor(one.reached)} so far.`,
    ended: "Ended by the teacher.",
  }),

  pins: Object.freeze({
    head: "Pinned words",
    none: "None.",
    where: (/** @type {string} */ title, /** @type {number} */ measure) => `${title}, measure ${measure}`,
    read: (/** @type {string | null} */ seen) =>
      seen === null ? "Not read yet." : `Read on ${date(seen, { day: "numeric", month: "long" })}.`,
  }),

  /** @param {string} tier */
  tier: (tier) => `${SIGNS[tier] ?? ""} ${tier}`.trim(),
});

/** @param {Take} take */
function measuresOf({ first, last }) {
  return first === last ? `measure ${first} ` : `measures ${first} to ${last} `;
}

/**
 * @typedef {import("./week_view.js").Take} Take
 * @typedef {import("./week_view.js").Assignment} Assignment
 */
