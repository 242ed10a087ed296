/**
 * What a teacher fills in, as the service takes it.
 *
 * Pure: no document.
 *
 * @module desk_form
 */

/** The most measures that a tune has. */
const MOST_MEASURES = 2000;

/**
 * Measures as they are typed: "3, 5 to 7" or "3 5-7".
 *
 * @param {string} typed
 * @returns {number[] | null} rising, each once; null where they cannot be read
 */
export function measuresTyped(typed) {
  const text = typed.trim().replace(/\s*(?:to|–|-)\s*/g, "-");
  if (text === "") {
    return [];
  }
  /** @type {Set<number>} */
  const found = new Set();
  for (const part of text.split(/[\s,;]+/).filter((one) => one !== "" && one !== "and")) {
    const match = /^(\d{1,4})(?:-(\d{1,4}))?$/.exec(part);
    const [from, to] = match === null ? [1, 0] : [Number(match[1]), Number(match[2] ?? match[1])];
    if (from > to || to > MOST_MEASURES) {
      return null;
    }
    for (let measure = from; measure <= to; measure += 1) {
      found.add(measure);
    }
  }
  return [...found].sort((a, b) => a - b);
}

/**
 * What is asked of a student: only what would be another value.
 *
 * @param {{tempo: number, tier: string, first: number, last: number, measures: number}} is of the student's next pass
 * @param {{tempo: number, tier: string, whole: boolean, first: number, last: number}} wanted
 * @returns {Record<string, any> | null} fields of `steer`; null where nothing would change
 */
export function steered(is, wanted) {
  const all = is.last - is.first + 1 >= is.measures;
  /** @type {Record<string, any>} */
  const fields = {};
  if (wanted.tempo !== is.tempo) {
    fields.tempo = wanted.tempo;
  }
  if (wanted.tier !== is.tier) {
    fields.tier = wanted.tier;
  }
  if (wanted.whole) {
    Object.assign(fields, all ? {} : { whole: true });
  } else if (wanted.first !== is.first || wanted.last !== is.last) {
    Object.assign(fields, { first: wanted.first, last: wanted.last });
  }
  return Object.keys(fields).length === 0 ? null : fields;
}

/**
 * @typedef {{id: string, student: string, student_name: string, tune: string, title: string, tier: string, mix: number[],
 *   goal: number, until: string, words: string, by: string, cap: number | null, cap_until: string, rules: string,
 *   reached: number | null}} Assigned
 * What is set for one student.
 */

/**
 * What is set, taken together where it is the same for several.
 *
 * @param {Assigned[]} assignments
 * @returns {Assigned[][]} each with its students by name; by the day until which it holds (none last), then by tune
 */
export function together(assignments) {
  /** @type {Map<string, Assigned[]>} */
  const found = new Map();
  for (const one of assignments) {
    const { tune, tier, mix, goal, until, words, rules } = one;
    const key = JSON.stringify([tune, tier, mix, goal, until, words, rules]);
    found.set(key, [...(found.get(key) ?? []), one]);
  }
  const order = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
  const day = (/** @type {string} */ until) => (until === "" ? Infinity : Date.parse(until));
  const byDay = (/** @type {Assigned} */ a, /** @type {Assigned} */ b) =>
    a.until === b.until ? 0 : day(a.until) - day(b.until);
  return [...found.values()]
    .map((group) => group.sort((a, b) => order.compare(a.student_name, b.student_name)))
    .sort(([a], [b]) => byDay(a, b) || order.compare(a.title, b.title));
}
