/**
 * The climb: the tempo of whole passes by day, week or month, each tier with its own shape.
 *
 * Pure: no document, no clock.
 *
 * @module progress_climb
 */

import { calendar, dayOf, gathered } from "./progress_days.js";
import { KEY, dayAxis, label, line, mark, part, tierKey } from "./progress_picture.js";
import { along, tempoScale } from "./progress_scale.js";
import { WORDS } from "./english.js";
import { TIERS } from "./tiers.js";

/**
 * @typedef {import("./progress_picture.js").ClimbLine} ClimbLine
 * @typedef {import("./tiers.js").Tier} Tier
 *
 * @typedef {object} Climbed whole passes of a tier in a stretch of days
 * @property {number} index of the stretch
 * @property {Tier} tier
 * @property {number} low
 * @property {number} high
 * @property {number | null} clean
 * @property {number} passes
 */

const EDGE = { left: 34, right: 16, top: 20, bottom: 24 };

/** Quarters a minute by which the slowest mark stands clear of the axis. */
const CLEAR = 3;

/** Stretches without a clean pass over which the line of a tier is not drawn: nobody knows what was there. */
const LONGEST_GAP = { day: 21, week: 3, month: 1 };

/**
 * What was played in each stretch of a calendar, tier by tier.
 *
 * @param {import("./progress_days.js").Calendar} calendar
 * @param {ClimbLine[]} lines
 * @returns {Climbed[]} by stretch, then the easiest tier first
 */
export function climbed(calendar, lines) {
  return gathered(calendar, lines).flatMap((there, index) =>
    TIERS.flatMap((tier) => {
      const own = there.filter((one) => one.tier === tier);
      const clean = own.flatMap(({ fastest_clean }) => (fastest_clean === null ? [] : [fastest_clean]));
      return own.length === 0
        ? []
        : [
            {
              index,
              tier,
              low: Math.min(...own.map(({ low }) => low)),
              high: Math.max(...own.map(({ high }) => high)),
              clean: clean.length === 0 ? null : Math.max(...clean),
              passes: own.reduce((sum, { passes }) => sum + passes, 0),
            },
          ];
    }),
  );
}

/**
 * @param {ClimbLine[]} lines
 * @param {number | null} goal
 * @param {{width: number, from: number | null, today: number}} frame pixels; the first day that is shown, null for
 *   the first that was played; the last day
 * @returns {import("./progress_picture.js").Picture | null} null where there is nothing to show
 */
export function climbPicture(lines, goal, { width, from, today }) {
  const shown = lines.filter(({ day }) => from === null || dayOf(day) >= from);
  if (shown.length === 0) {
    return null;
  }
  const days = shown.map(({ day }) => dayOf(day));
  const room = width - EDGE.left - EDGE.right;
  const dates = calendar(from ?? Math.min(...days), Math.max(today, ...days), room);
  const all = climbed(dates, shown);
  const pitch = room / dates.stretches.length;
  const height = width < 520 ? 230 : 290;
  const bottom = height - EDGE.bottom;
  const tempos = all.flatMap(({ low, high }) => [low - CLEAR, high]);
  const scale = tempoScale(goal === null ? tempos : [...tempos, goal]);
  const y = along(scale, bottom, EDGE.top);
  const r = Math.min(5, Math.max(3, pitch * 0.45));

  /** Tiers of one stretch stand beside each other. */
  const x = (/** @type {Climbed} */ one) => {
    const beside = all.filter(({ index }) => index === one.index);
    const step = Math.min(2.2 * r, pitch / (beside.length + 1));
    return EDGE.left + pitch * (one.index + 0.5) + step * (beside.indexOf(one) - (beside.length - 1) / 2);
  };
  const when = (/** @type {Climbed} */ one) => WORDS.stretch(dates.unit, dates.stretches[one.index], today);
  const told = (/** @type {Climbed} */ one) => WORDS.climb.told({ ...one, when: when(one) });
  return {
    width,
    height,
    title: WORDS.climb.name,
    desc: WORDS.climb.desc(WORDS.each(dates.unit)),
    parts: [
      ...scale.lines.map((tempo) => line("grid", EDGE.left, y(tempo), width - EDGE.right, y(tempo))),
      ...scale.lines.map((tempo) => label(WORDS.tempo(tempo), EDGE.left - 7, y(tempo) + 4, "end")),
      ...dayAxis(dates, EDGE.left, pitch, bottom),
      ...all.flatMap((one) => rangeOf(one, x(one), y, r)),
      ...TIERS.flatMap((tier) => ways(all.filter((one) => one.tier === tier), LONGEST_GAP[dates.unit], x, y)),
      ...(goal === null ? [] : goalLine(goal, EDGE.left, width - EDGE.right, y(goal))),
      ...all.map((one) => mark(one.tier, x(one), y(one.clean ?? one.low), r, one.clean !== null, told(one))),
    ],
    key: keyOf(all, goal),
    table: {
      head: WORDS.climb.head,
      rows: all.map((one) => [
        when(one),
        WORDS.tier(one.tier),
        WORDS.tempo(one.low),
        WORDS.tempo(one.high),
        one.clean === null ? "–" : WORDS.tempo(one.clean),
        String(one.passes),
      ]).reverse(),
    },
  };
}

/**
 * From the slowest to the fastest tempo.
 *
 * @param {Climbed} one
 * @param {number} x
 * @param {(tempo: number) => number} y
 * @param {number} r half the width of its ends
 */
function rangeOf({ tier, low, high }, x, y, r) {
  const d = `M${x} ${y(low)}V${y(high)}M${x - r / 2} ${y(low)}h${r}M${x - r / 2} ${y(high)}h${r}`;
  return low === high ? [] : [part("path", { class: `range ${tier}`, d })];
}

/**
 * The line of a tier, from one fastest clean tempo to the next.
 *
 * @param {Climbed[]} own of one tier, in order
 * @param {number} gap
 * @param {(one: Climbed) => number} x
 * @param {(tempo: number) => number} y
 */
function ways(own, gap, x, y) {
  let d = "";
  let before = -Infinity;
  for (const one of own) {
    if (one.clean !== null) {
      d += `${one.index - before > gap ? "M" : "L"}${x(one)} ${y(one.clean)}`;
      before = one.index;
    }
  }
  return d.includes("L") ? [part("path", { class: `way ${own[0].tier}`, d })] : [];
}

/**
 * The goal, named on the left: a climb is far below it there, and may reach it on the right.
 *
 * @param {number} goal
 * @param {number} left
 * @param {number} right
 * @param {number} y
 */
function goalLine(goal, left, right, y) {
  return [line("goal", left, y, right, y), label(WORDS.goal(goal), left + 3, y - 5, "start", "label goal-words")];
}

/**
 * @param {Climbed[]} all
 * @param {number | null} goal
 */
function keyOf(all, goal) {
  const middle = KEY / 2;
  const first = all[0].tier;
  return [
    ...tierKey(all.map(({ tier }) => tier)),
    ...(all.some(({ clean }) => clean !== null)
      ? [{ parts: [mark(first, middle, middle, 5, true)], words: WORDS.climb.clean }]
      : []),
    ...(all.some(({ clean }) => clean === null)
      ? [{ parts: [mark(first, middle, middle, 5, false)], words: WORDS.climb.tried }]
      : []),
    ...(all.some(({ low, high }) => low < high)
      ? [{ parts: rangeOf({ ...all[0], low: 3, high: KEY - 3 }, middle, (at) => at, 5), words: WORDS.climb.range }]
      : []),
    ...(goal === null ? [] : [{ parts: [line("goal", 1, middle, KEY - 1, middle)], words: WORDS.climb.goal }]),
  ];
}
