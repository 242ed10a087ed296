/**
 * How numbers, measures and tempos are said in words.
 *
 * Pure: no document.
 *
 * @module wording
 */

/**
 * @param {number} count
 * @param {string} one
 * @param {string} many
 */
export function counted(count, one, many) {
  return `${count} ${count === 1 ? one : many}`;
}

/** @param {number} value */
export function number(value) {
  return String(Math.round(value * 10) / 10);
}

/**
 * @param {number} first
 * @param {number} last
 */
export function measures(first, last) {
  return first === last ? `measure ${first}` : `measures ${first} to ${last}`;
}

/**
 * Whether all measures of a solo are played.
 *
 * @param {{first: number, last: number, measures: number}} state
 */
export function isWhole({ first, last, measures: all }) {
  return last - first + 1 >= all;
}

/**
 * Numbers that follow one another, taken together.
 *
 * @param {number[]} numbers in any order
 * @returns {[first: number, last: number][]} in order
 */
export function runs(numbers) {
  /** @type {[number, number][]} */
  const found = [];
  for (const one of [...numbers].sort((a, b) => a - b)) {
    const last = found.at(-1);
    if (last !== undefined && one <= last[1] + 1) {
      last[1] = one;
    } else {
      found.push([one, one]);
    }
  }
  return found;
}

/**
 * @param {number[]} numbers at least one
 * @returns {string} "measures 2, 5 to 6 and 8"
 */
export function measureList(numbers) {
  const parts = runs(numbers).map(([first, last]) => (first === last ? String(first) : `${first} to ${last}`));
  const [before, end] = [parts.slice(0, -1).join(", "), parts[parts.length - 1]];
  return `${numbers.length === 1 ? "measure" : "measures"} ${before === "" ? end : `${before} and ${end}`}`;
}

/**
 * A tempo in the beats that a jam counts: halves in duple and quadruple metres, dotted quarters in compound ones.
 *
 * @param {number} quarters a minute
 * @param {string} meter as in the arrangement, "4/4"
 * @returns {string} empty where a jam counts quarters too
 */
export function jamBeats(quarters, meter) {
  const [count, unit] = meter.split("/").map(Number);
  if (count % 3 === 0 && count > 3 && unit >= 8) {
    return `${number((quarters * unit) / 12)} dotted ${unit === 8 ? "quarters" : "eighths"}`;
  }
  return count % 2 === 0 || unit === 2 ? `${number(quarters / 2)} halves` : "";
}

/**
 * A tempo of the ladder, which counts in whole quarters a minute, as its sentences do.
 *
 * @param {number} quarters a minute
 * @param {string} meter
 */
export function tempo(quarters, meter) {
  const whole = Math.round(quarters);
  const beats = jamBeats(whole, meter);
  return `${whole} quarters a minute${beats === "" ? "" : ` (${beats})`}`;
}
