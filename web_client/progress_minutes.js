/**
 * Minutes a day, week or month: of one tune and over all.
 *
 * Pure: no document, no clock.
 *
 * @module progress_minutes
 */

import { calendar, dayOf, gathered } from "./progress_days.js";
import { KEY, dayAxis, label, line, part } from "./progress_picture.js";
import { along, minuteScale } from "./progress_scale.js";
import { WORDS } from "./english.js";

/** @typedef {import("./progress_picture.js").DayLine} DayLine */

const EDGE = { left: 48, right: 16, top: 12, bottom: 24 };
const HEIGHT = 170;
const WIDEST = 24;

/**
 * @param {DayLine[]} days
 * @param {{id: string, title: string}} tune the one whose part of each bar is filled
 * @param {{width: number, from: number | null, today: number}} frame as of the climb
 * @returns {import("./progress_picture.js").Picture | null} null where there is nothing to show
 */
export function minutesPicture(days, tune, { width, from, today }) {
  const shown = days.filter(({ day }) => from === null || dayOf(day) >= from);
  if (shown.length === 0) {
    return null;
  }
  const played = shown.map(({ day }) => dayOf(day));
  const room = width - EDGE.left - EDGE.right;
  const dates = calendar(from ?? Math.min(...played), Math.max(today, ...played), room);
  const bars = gathered(dates, shown).map((there, index) => ({
    index,
    all: there.reduce((sum, { minutes }) => sum + minutes, 0),
    own: there.reduce((sum, { tunes }) => sum + (tunes[tune.id] ?? 0), 0),
    when: WORDS.stretch(dates.unit, dates.stretches[index], today),
  }));
  const pitch = room / bars.length;
  const wide = Math.min(WIDEST, 0.72 * pitch);
  const bottom = HEIGHT - EDGE.bottom;
  const scale = minuteScale(Math.max(...bars.map(({ all }) => all)));
  const y = along(scale, bottom, EDGE.top);
  const going = dates.unit !== "day" && dates.stretches[bars.length - 1].last > today;
  const filled = bars.filter(({ all }) => all > 0);
  const name = WORDS.minutes.name(dates.unit);
  return {
    width,
    height: HEIGHT,
    title: name,
    desc: WORDS.minutes.desc(tune.title, dates.unit, going),
    parts: [
      ...scale.lines.map((minutes) => line("grid", EDGE.left, y(minutes), width - EDGE.right, y(minutes))),
      ...scale.lines.map((minutes) => {
        const words = WORDS.minutes.scale(minutes, scale.high);
        return label(words, EDGE.left - 7, y(minutes) + 4, "end");
      }),
      ...filled.flatMap(({ index, all, own, when }) => {
        const left = EDGE.left + pitch * (index + 0.5) - wide / 2;
        const told = WORDS.minutes.told(when, all, tune.title, own);
        const whole = bar("all", left, wide, y(all), bottom, told);
        return own > 0 ? [whole, bar("own", left, wide, y(own), bottom, told)] : [whole];
      }),
      ...dayAxis(dates, EDGE.left, pitch, bottom),
    ],
    key: [
      { parts: [bar("own", 4, KEY - 8, 2, KEY - 2)], words: tune.title },
      { parts: [bar("all", 4, KEY - 8, 2, KEY - 2)], words: WORDS.minutes.other },
    ],
    table: {
      head: WORDS.minutes.head(tune.title),
      rows: filled.map(({ when, all, own }) => [when, WORDS.minutes.long(all), WORDS.minutes.long(own)]).reverse(),
    },
  };
}

/**
 * @param {"all" | "own"} className
 * @param {number} x
 * @param {number} width
 * @param {number} top
 * @param {number} bottom
 * @param {string} [told]
 */
function bar(className, x, width, top, bottom, told) {
  return part("rect", { class: className, x, y: top, width, height: bottom - top }, { told });
}
