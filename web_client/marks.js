/**
 * Pencil marks for the verdicts: their shapes as SVG paths.
 *
 * Early is a tick before the number, late a tick after it, missed a ring round it; a wrong note has the played fret
 * small beside it, a note on another string has it on the line where it was played; an extra note is a dot above the
 * staff. On time leaves the paper as it is. Each hand-drawn line is a little different, but the same note always gets
 * the same line.
 *
 * Pure: no document.
 *
 * @module marks
 */

/**
 * @typedef {{x: number, y: number, size: number, gap: number, string: number, least?: number}} Place
 * The number on the sheet: its middle, its height, the distance of two string lines (all in the sheet's own units), the
 * string whose line it stands on, and the least size of a letter that can be read there.
 *
 * @typedef {{lines: string[], text?: {x: number, y: number, size: number, words: string}, dot?: {x: number, y: number,
 *   r: number, hollow: boolean}}} Drawing
 * Paths to be stroked, a small text, a dot.
 */

/**
 * Small steady deviations, as of a hand: a value in -1..1 that depends on the name only.
 *
 * @param {string} name
 * @param {number} turn which deviation of this name
 * @returns {number}
 */
export function waver(name, turn) {
  let hash = 2166136261 ^ turn;
  for (let index = 0; index < name.length; index += 1) {
    hash = Math.imul(hash ^ name.charCodeAt(index), 16777619);
  }
  hash = Math.imul(hash ^ (hash >>> 15), 2246822507);
  return ((hash >>> 0) / 2 ** 32) * 2 - 1;
}

/**
 * A short upright stroke: a slanting one would be read as a slide.
 *
 * @param {number} x its middle
 * @param {number} y its middle
 * @param {number} height
 * @param {string} name
 * @returns {string} a path
 */
function stroke(x, y, height, name) {
  const lean = height * 0.05 * waver(name, 1);
  const bend = height * 0.08 * waver(name, 2);
  const [top, bottom] = [y - height / 2, y + height / 2];
  return `M${round(x - lean)} ${round(bottom)}Q${round(x + bend)} ${round(y)} ${round(x + lean)} ${round(top)}`;
}

/**
 * A bent line from a number to what was played on another string, ending short of it.
 *
 * @param {number} x
 * @param {number} y
 * @param {number} toX
 * @param {number} toY the middle of what was played
 * @param {number} size of the number
 * @param {string} name
 * @returns {string} a path
 */
function way(x, y, toX, toY, size, name) {
  const end = toY - Math.sign(toY - y) * size * 0.5;
  const bend = size * (0.28 + 0.08 * waver(name, 4));
  return `M${round(x)} ${round(y)}Q${round(toX + bend)} ${round((y + end) / 2)} ${round(toX)} ${round(end)}`;
}

/**
 * A ring that does not quite meet itself.
 *
 * @param {number} x its middle
 * @param {number} y its middle
 * @param {number} radius
 * @param {string} name
 * @returns {string} a path
 */
function ring(x, y, radius, name) {
  const steps = 14;
  const from = -2.1 + 0.3 * waver(name, 1);
  const points = [];
  for (let step = 0; step <= steps + 2; step += 1) {
    const angle = from + (step / steps) * 2 * Math.PI;
    const far = radius * (1 + 0.05 * waver(name, 10 + step) + 0.06 * (step / steps));
    points.push(`${round(x + far * Math.cos(angle))} ${round(y + far * 1.05 * Math.sin(angle))}`);
  }
  return smooth(points);
}

/**
 * A smooth path through points, by quadratic pieces that meet in the middles.
 *
 * @param {string[]} points `"x y"`
 * @returns {string} a path
 */
function smooth(points) {
  const at = points.map((point) => point.split(" ").map(Number));
  let path = `M${points[0]}`;
  for (let index = 1; index < at.length - 1; index += 1) {
    const middle = [(at[index][0] + at[index + 1][0]) / 2, (at[index][1] + at[index + 1][1]) / 2];
    path += `Q${points[index]} ${round(middle[0])} ${round(middle[1])}`;
  }
  return path;
}

/** @param {number} value */
function round(value) {
  return Math.round(value * 10) / 10;
}

/**
 * How tall a tick is: the further off, the taller, within reason.
 *
 * @param {number} size of the number
 * @param {number | null} offset_ms
 * @returns {number}
 */
function tickHeight(size, offset_ms) {
  return size * Math.min(1.5, 0.9 + Math.abs(offset_ms ?? 0) / 200);
}

/**
 * The mark of a verdict.
 *
 * @param {{verdict: string, offset_ms: number | null, string: number | null, played: string | null}} verdict `played`:
 *   what was played in its stead, a fret or a pitch name
 * @param {Place} place of the number
 * @param {string} id of the pluck
 * @returns {Drawing | null} null where nothing is drawn
 */
export function markOf(verdict, place, id) {
  const { x, y, size, gap, least = 0 } = place;
  switch (verdict.verdict) {
    case "early":
      return { lines: [stroke(x - size * 0.66, y, tickHeight(size, verdict.offset_ms), id)] };
    case "late":
      return { lines: [stroke(x + size * 0.66, y, tickHeight(size, verdict.offset_ms), id)] };
    case "missed":
      return { lines: [ring(x, y, size * 0.64, id)] };
    case "wrong note":
    case "other string": {
      const down = verdict.string === null ? 0 : (verdict.string - place.string) * gap;
      const words = verdict.played ?? "?";
      const text = { x: x + size * 0.58, y: y + down - size * 0.32, size: Math.max(size * 0.85, least), words }; // raised, as an index
      const lines = [];
      if (down !== 0) {
        lines.push(way(x + size * 0.4, y + Math.sign(down) * size * 0.15, text.x + size * 0.2, text.y, size, id));
      }
      if (verdict.verdict === "wrong note") {
        const slope = round(size * 0.05 * waver(id, 3));
        lines.push(`M${round(text.x)} ${round(text.y + size * 0.44)}l${round(size * 0.42 * words.length)} ${slope}`);
      }
      return { lines, text };
    }
    default:
      return null;
  }
}

/**
 * The mark of an extra note: a dot above the staff; hollow where it did no harm.
 *
 * @param {{x: number, top: number, size: number, fault: boolean}} where `top`: of the staff
 * @returns {Drawing}
 */
export function markOfExtra({ x, top, size, fault }) {
  return { lines: [], dot: { x, y: top - size * 0.65, r: size * 0.19, hollow: !fault } };
}

/** The names of the twelve pitch classes, from C on. */
export const LETTERS = ["C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "G♯", "A", "B♭", "B"];

/**
 * What was played, as it is pencilled beside the number.
 *
 * @param {{fret?: number | null, pitch: number | null}} verdict
 * @returns {string | null} the fret, else the name of the pitch, else null
 */
export function playedWords(verdict) {
  if (verdict.fret !== null && verdict.fret !== undefined) {
    return String(verdict.fret);
  }
  return verdict.pitch === null ? null : LETTERS[verdict.pitch % 12];
}
