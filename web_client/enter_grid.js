/**
 * What was played to a click, put on the grid of its beats.
 *
 * Pure. Of all ways to give each note a place of its own, in their order, the one of least cost is found exactly: how far
 * each note is from its place, and how fine each beat has to be cut for it.
 *
 * @module enter_grid
 */

import { MOST_NOTES, QUARTER, measureOf } from "./enter_tune.js";

/** @typedef {import("./enter_tune.js").DraftNote} DraftNote */
/** @typedef {{seconds: number, pitch: number, string: number | null, fret: number | null, velocity: number}} Played
 * A note that was played; `seconds` from the barline behind the count-in (and the pickup).
 */

/** By how much hands scatter about their beat, in seconds. From memory: players differ, 10 to 40 ms. */
const SCATTER = 0.035;

/** What it costs to cut a beat finer, by its parts; and, in a compound metre, the same. In squares of scatter. */
const SIMPLE = Object.freeze([
  { parts: [0], price: 0, triplet: false },
  { parts: [0, 24], price: 0.5, triplet: false },
  { parts: [0, 16, 32], price: 3, triplet: true },
  { parts: [0, 12, 24, 36], price: 3, triplet: false },
]);
const COMPOUND = Object.freeze([
  { parts: [0], price: 0, triplet: false },
  { parts: [0, 24, 48], price: 0.5, triplet: false },
  { parts: [0, 12, 24, 36, 48, 60], price: 3, triplet: false },
]);

/** What it costs to leave a note out: two that cannot both have a place. */
const LEFT_OUT = 40;

/** How late all notes may be together, in seconds, the likeliest first: a late instrument, a player who leans. */
const LATES = Object.freeze([0, 0.03, -0.03, 0.06, -0.06, 0.09, -0.09, 0.12, 0.15]);

/** What that is measured by, in seconds: its square is added to the cost. */
const LEAN = 0.08;

/** Seconds within which an instrument may send a note twice, or with its octave: MIDI from a pickup, trade practice. */
const ECHO = 0.04;

/**
 * Whether a note is no new one: it comes right behind another of its pitch, or its octave.
 *
 * @param {{stamp: number, pitch: number} | null} before
 * @param {{stamp: number, pitch: number}} note
 */
export function isEcho(before, note) {
  return (
    before !== null && note.stamp - before.stamp < ECHO && [0, 12].includes(Math.abs(note.pitch - before.pitch))
  );
}

/**
 * The notes of a draft from what was played.
 *
 * @param {Played[]} played in order
 * @param {{tempo: number, meter: string, pickup: number, sixteenths: boolean}} by quarters a minute; ticks; whether there are
 *   sixteenth notes and triplets
 * @returns {{notes: DraftNote[], lateMs: number}} the notes from the start of the pickup, or of the first measure, each as
 *   long as until the next, and no more than have room in a tune; how late they were all together
 */
export function onGrid(played, { tempo, meter, pickup, sixteenths }) {
  const by = { second: (tempo * QUARTER) / 60, meter, pickup, sixteenths };
  const tried = LATES.map((late) => ({ late, ...placesOn(played, { ...by, late }) }));
  const price = (/** @type {{late: number, cost: number}} */ each) => each.cost + (each.late / LEAN) ** 2;
  let { late, placed } = tried.reduce((best, other) => (price(other) < price(best) ? other : best));
  if (placed.length > 0) {
    late = median(placed.map(({ index, tick }) => played[index].seconds - tick / by.second));
    ({ placed } = placesOn(played, { ...by, late }));
  }
  return { notes: notesFrom(placed.map(({ index, ...place }) => ({ ...place, ...played[index] })), meter, pickup), lateMs: late * 1000 };
}

/**
 * @typedef {{index: number, tick: number, triplet: number | null}} Placed
 * A note by its index, where it stands, and where the beat begins that is cut in three for it.
 *
 * @typedef {{cost: number, last: {placed: Placed, before: any} | null}} Way the last note of a way and, behind it, the
 *   others
 */

/**
 * The places of least cost.
 *
 * @param {Played[]} played
 * @param {{second: number, late: number, meter: string, pickup: number, sixteenths: boolean}} by
 * @returns {{placed: Placed[], cost: number}} `late` and `second`, ticks in it, as they are to be taken
 */
function placesOn(played, { second, late, meter, pickup, sixteenths }) {
  const compound = meter.endsWith("/8"); // also 3/8, of one beat: no cut lies across its barlines
  const beat = compound ? 72 : QUARTER;
  const cuts = (compound ? COMPOUND : SIMPLE).filter(({ price }) => sixteenths || price < 3);
  const ticks = played.map(({ seconds }) => (seconds - late) * second);
  const cost = (/** @type {number} */ index, /** @type {number} */ tick) => ((ticks[index] - tick) / second / SCATTER) ** 2;
  const first = -Math.ceil(pickup / beat) * beat;
  const end = Math.max(...ticks, 0) + 2 * beat;
  /** @type {Map<number, Way>} by how many notes have their place */
  let ways = new Map([[0, { cost: 0, last: null }]]);
  for (let start = first; start < end; start += beat) {
    /** @type {Map<number, Way>} */
    const after = new Map();
    for (const { parts, price, triplet } of cuts) {
      let here = new Map([...ways].map(([count, way]) => [count, { ...way, cost: way.cost + price }]));
      for (const part of parts) {
        const tick = start + part;
        if (tick < -pickup) {
          continue;
        }
        const then = new Map(here);
        for (const [index, way] of here) {
          if (index < played.length && Math.abs(ticks[index] - tick) <= beat) {
            const placed = { index, tick, triplet: triplet ? start : null };
            better(then, index + 1, { cost: way.cost + cost(index, tick), last: { placed, before: way.last } });
          }
        }
        here = then;
      }
      for (const [count, way] of here) {
        better(after, count, way);
      }
    }
    // A note that lies behind and has no place yet will have none: it is left out.
    ways = new Map();
    for (const count of [...after.keys()].sort((a, b) => a - b)) {
      let way = /** @type {Way} */ (after.get(count));
      let index = count;
      while (index < played.length && ticks[index] < start) {
        index += 1;
        way = { ...way, cost: way.cost + LEFT_OUT };
      }
      better(ways, index, way);
    }
  }
  const best = [...ways.values()].reduce((one, other) => (other.cost < one.cost ? other : one));
  const placed = [];
  for (let each = best.last; each !== null; each = each.before) {
    placed.unshift(each.placed);
  }
  return { placed, cost: best.cost };
}

/**
 * @param {Map<number, Way>} ways
 * @param {number} count
 * @param {Way} way
 */
function better(ways, count, way) {
  const known = ways.get(count);
  if (known === undefined || way.cost < known.cost) {
    ways.set(count, way);
  }
}

/**
 * Notes that last until the next begins, cut and tied where a beat in three begins or ends.
 *
 * @param {(Played & {tick: number, triplet: number | null})[]} placed
 * @param {string} meter
 * @param {number} pickup
 * @returns {DraftNote[]}
 */
function notesFrom(placed, meter, pickup) {
  const triplets = [...new Set(placed.flatMap(({ triplet }) => (triplet === null ? [] : [triplet])))].sort((a, b) => a - b);
  const full = measureOf(meter);
  const last = placed[placed.length - 1];
  /** @type {DraftNote[]} */
  const notes = [];
  const add = (/** @type {number} */ from, /** @type {number} */ to, /** @type {Partial<Played>} */ { pitch, string, fret }) => {
    for (let at = from; at < to; ) {
      const inside = triplets.find((start) => start <= at && at < start + QUARTER);
      const edge = inside === undefined ? (triplets.find((start) => start > at) ?? Infinity) : inside + QUARTER;
      const next = Math.min(to, edge);
      const triplet = inside !== undefined && next - at < QUARTER;
      const tied = next < to && pitch !== undefined;
      notes.push({ pitch: pitch ?? null, length: next - at, triplet, tied, string: string ?? null, fret: fret ?? null });
      at = next;
    }
  };
  if (last !== undefined) {
    add(-pickup, placed[0].tick, {});
    placed.forEach((note, index) => {
      const end = note.tick + full - (((note.tick % full) + full) % full);
      add(note.tick, placed[index + 1]?.tick ?? end, note);
    });
  }
  return notes.slice(0, MOST_NOTES);
}

/** @param {number[]} values */
function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length === 0 ? 0 : (sorted[(sorted.length - 1) >> 1] + sorted[sorted.length >> 1]) / 2;
}
