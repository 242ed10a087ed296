/**
 * Days of the calendar, and the days, weeks or months that a picture has room for.
 *
 * A day is the number of days since 1 January 1970; a week begins on a Monday (ISO 8601).
 *
 * Pure: no document, no clock.
 *
 * @module progress_days
 */

const DAY_MS = 86_400_000;
const FIRST_MONDAY = 4; // 5 January 1970

/** Days that an axis shows at least: after the first there is room for those to come. */
const FEWEST_DAYS = 14;

/** A day, week or month that is narrower than this, in pixels, cannot be told from its neighbours. */
const NARROWEST = 8;

/**
 * @typedef {"day" | "week" | "month"} Unit
 * @typedef {{first: number, last: number}} Stretch days, both ends belong to it
 * @typedef {{unit: Unit, stretches: Stretch[]}} Calendar stretches without gaps
 */

/**
 * @param {string} date "2026-03-01"
 * @returns {number} its day
 */
export function dayOf(date) {
  return Math.round(Date.parse(`${date}T00:00:00Z`) / DAY_MS);
}

/**
 * @param {number} day
 * @returns {{year: number, month: number, day: number}} month from 1, day of the month from 1
 */
export function partsOf(day) {
  const date = new Date(day * DAY_MS);
  return { year: date.getUTCFullYear(), month: date.getUTCMonth() + 1, day: date.getUTCDate() };
}

/**
 * The day of a moment where the page is.
 *
 * @param {Date} moment
 * @returns {number}
 */
export function dayHere(moment) {
  return Math.round(Date.UTC(moment.getFullYear(), moment.getMonth(), moment.getDate()) / DAY_MS);
}

/** @type {Record<Unit, (day: number) => Stretch>} */
const AROUND = {
  day: (day) => ({ first: day, last: day }),
  week: (day) => {
    const first = day - ((((day - FIRST_MONDAY) % 7) + 7) % 7);
    return { first, last: first + 6 };
  },
  month: (day) => {
    const { year, month } = partsOf(day);
    return { first: Date.UTC(year, month - 1, 1) / DAY_MS, last: Date.UTC(year, month, 1) / DAY_MS - 1 };
  },
};

/**
 * @param {Unit} unit
 * @param {number} first
 * @param {number} last
 */
function cut(unit, first, last) {
  const stretches = [];
  for (let day = first; day <= last; day = stretches[stretches.length - 1].last + 1) {
    stretches.push(AROUND[unit](day));
  }
  return { unit, stretches };
}

/**
 * The calendar of an axis: by day where each day has room, else by week, else by month.
 *
 * @param {number} first day
 * @param {number} last day of those that are past; a short time goes on beyond it
 * @param {number} room pixels
 * @returns {Calendar}
 */
export function calendar(first, last, room) {
  const to = Math.max(last, first + FEWEST_DAYS - 1);
  if ((to - first + 1) * NARROWEST <= room) {
    return cut("day", first, to);
  }
  const weeks = cut("week", first, to);
  return weeks.stretches.length * NARROWEST <= room ? weeks : cut("month", first, to);
}

/**
 * Gathers what lies in each stretch of a calendar.
 *
 * @template {{day: string}} T
 * @param {Calendar} calendar
 * @param {T[]} items in any order; what lies outside is left out
 * @returns {T[][]} by stretch, in the order in which they were given
 */
export function gathered({ stretches }, items) {
  /** @type {T[][]} */
  const found = stretches.map(() => []);
  for (const item of items) {
    const day = dayOf(item.day);
    const index = stretches.findIndex(({ first, last }) => first <= day && day <= last);
    if (index >= 0) {
      found[index].push(item);
    }
  }
  return found;
}

/**
 * The stretches that are written at an axis: for days, evenly chosen ones from the first on; for weeks and months,
 * those with the first day of a month.
 *
 * @param {Calendar} calendar
 * @param {number} pitch pixels from one stretch to the next
 * @param {number} apart pixels that two labels need at least
 * @returns {{index: number, day: number}[]}
 */
export function written({ unit, stretches }, pitch, apart) {
  if (unit === "day") {
    const step = [1, 2, 7, 14, 28].find((days) => days * pitch >= apart) ?? 28;
    return stretches.flatMap(({ first }, index) =>
      index % step === 0 ? [{ index, day: first }] : [],
    );
  }
  const months = stretches.flatMap((stretch, index) => {
    const begun = AROUND.month(stretch.last).first;
    return begun >= stretch.first ? [{ index, day: begun }] : [];
  });
  const step = [1, 2, 3, 6, 12].find((count) => count * (unit === "week" ? 4 : 1) * pitch >= apart) ?? 12;
  return months.filter(({ day }) => (partsOf(day).month - 1) % step === 0);
}
