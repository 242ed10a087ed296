/**
 * The picture of a roll: how early or late each of its places comes against the others.
 *
 * Pure: no document. Late stands higher, as in the picture of learning an instrument.
 *
 * @module roll_plot
 */

/** The picture's own units. */
export const ROLL_PLOT = Object.freeze({ width: 320, height: 132, left: 58, right: 8, top: 12, bottom: 34 });

/** Milliseconds of the scale: no smaller one is drawn, so that what nobody hears looks as small as it is. */
const SCALES = Object.freeze([20, 40, 60, 100, 200, 400]);

/** Milliseconds below which no place is worth a word; about what trained ears notice (from memory: Friberg and Sundberg 1995). */
export const NOTICED_MS = 6;

/**
 * @typedef {{slot: number, offset_ms: number}} Position
 * @typedef {{slot: number, ms: number, x: number, y: number}} Place
 * @typedef {{places: Place[], scale: number, lines: {ms: number, y: number}[], middle: number}} RollPlot
 */

/**
 * Where everything stands.
 *
 * @param {Position[]} positions at least one
 * @returns {RollPlot} `middle` is the height of what is neither early nor late
 */
export function rollPlotOf(positions) {
  const most = Math.max(...positions.map(({ offset_ms }) => Math.abs(offset_ms)));
  const scale = SCALES.find((one) => one >= most) ?? 100 * Math.ceil(most / 100);
  const high = ROLL_PLOT.height - ROLL_PLOT.top - ROLL_PLOT.bottom;
  const y = (/** @type {number} */ ms) => ROLL_PLOT.top + (high * (scale - ms)) / (2 * scale);
  const last = Math.max(...positions.map(({ slot }) => slot));
  const wide = (ROLL_PLOT.width - ROLL_PLOT.left - ROLL_PLOT.right) / last;
  return {
    places: positions.map(({ slot, offset_ms: ms }) => ({ slot, ms, x: ROLL_PLOT.left + wide * (slot - 0.5), y: y(ms) })),
    scale,
    lines: [scale, 0, -scale].map((ms) => ({ ms, y: y(ms) })),
    middle: y(0),
  };
}

/**
 * The places that come earliest and latest.
 *
 * @param {Position[]} positions
 * @returns {{early: Position | null, late: Position | null}} null where none is as far off as is noticed
 */
export function extremes(positions) {
  const by = [...positions].sort((a, b) => a.offset_ms - b.offset_ms);
  const [first, last] = [by[0], by[by.length - 1]];
  return {
    early: first !== undefined && first.offset_ms <= -NOTICED_MS ? first : null,
    late: last !== undefined && last.offset_ms >= NOTICED_MS ? last : null,
  };
}

/**
 * How the places of a measure's grid are counted aloud: "1 & 2 & 3 & 4 &".
 *
 * @param {string} meter "4/4"
 * @param {string} slot the grid in quarters, "1/2"
 * @returns {string[]} by place
 */
export function countsOf(meter, slot) {
  const [count, unit] = meter.split("/").map(Number);
  const [over, under = "1"] = slot.split("/");
  const step = Number(over) / Number(under);
  const compound = count % 3 === 0 && count > 3 && unit >= 8;
  const beat = (4 / unit) * (compound ? 3 : 1);
  const slots = Math.round(((count * 4) / unit) / step);
  return Array.from({ length: slots }, (_, index) => {
    const place = (index * step) / beat;
    const whole = Math.floor(place + 1e-9);
    const share = place - whole;
    if (share < 0.01) {
      return String(whole + 1);
    }
    return Math.abs(share - 0.5) < 0.01 ? "&" : "·";
  });
}
