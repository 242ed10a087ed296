/**
 * Progress in a few sentences, as a teacher would say it in passing.
 *
 * Pure: no document, no clock.
 *
 * @module progress_glance
 */

import { dayOf } from "./progress_days.js";
import { slowest } from "./progress_ready.js";
import { WORDS } from "./english.js";

/** @typedef {import("./progress_picture.js").Progress} Progress */

const WEEK = 7;

/**
 * @param {Progress} progress
 * @param {import("./tiers.js").Tier} tier
 * @param {number} today
 * @returns {string[]}
 */
export function glance(progress, tier, today) {
  const { goal } = progress;
  const ready = progress.ready.filter((line) => line.tier === tier);
  return [
    WORDS.glance.best(tier, fastest(progress.climb.filter((line) => line.tier === tier)), today, goal),
    ...(goal === null || ready.length === 0 ? [] : againstGoal(ready, goal)),
    week(progress.days, today),
  ];
}

/**
 * @param {import("./progress_picture.js").ClimbLine[]} lines
 * @returns {{tempo: number, day: number} | null} the fastest clean tempo and the first day it was reached
 */
function fastest(lines) {
  let best = null;
  for (const { day, fastest_clean: tempo } of lines) {
    if (tempo !== null && (best === null || tempo > best.tempo)) {
      best = { tempo, day: dayOf(day) };
    }
  }
  return best;
}

/**
 * @param {import("./progress_picture.js").ReadyLine[]} ready of a tier, at least one
 * @param {number} goal
 */
function againstGoal(ready, goal) {
  const there = ready.filter(({ tempo }) => Math.round(tempo) >= Math.round(goal)).length;
  const slow = slowest(ready, goal);
  return [WORDS.glance.reached(there, ready.length), ...(slow.length === 0 ? [] : [WORDS.glance.slow(slow)])];
}

/**
 * @param {import("./progress_picture.js").DayLine[]} days
 * @param {number} today
 */
function week(days, today) {
  const ago = days.map(({ day, minutes }) => ({ ago: today - dayOf(day), minutes }));
  const sum = (/** @type {{minutes: number}[]} */ of) => of.reduce((total, { minutes }) => total + minutes, 0);
  const last = ago.filter((one) => one.ago < WEEK);
  const before = ago.filter((one) => one.ago >= WEEK && one.ago < 2 * WEEK);
  return WORDS.glance.week(sum(last), last.length, sum(before));
}
