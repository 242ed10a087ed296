/**
 * Which system stands where while a pass is played, so that none moves that is being read.
 *
 * Where the systems of a pass do not all fit into the window, those that fit stand in fixed slots, one under another. A
 * system that was played gives its slot to the next one that has none, once the one after it is well begun: as with
 * pages that are turned by halves, the eye goes from the last slot up to the first (common practice, no source).
 *
 * Pure: no document.
 *
 * @module turning
 */

/** Of the system that sounds, the share after which the one before it is done with. Three quarters stay to read ahead. */
export const DONE_WITH = 0.25;

/**
 * The sheet is drawn at most so much smaller to have a second system in view: who cannot see what comes cannot play on,
 * however large the rest is.
 */
const LEAST = 0.5;

/**
 * How many systems stand in the window, and how much smaller the sheet is drawn for it.
 *
 * @param {number} height pixels of the highest system, with the space under it
 * @param {number} room pixels of the window
 * @param {number} count of systems that are played
 * @returns {{shrink: number, slots: number}} `shrink` in 0..1, 1 for not at all; at least one slot
 */
export function fitting(height, room, count) {
  const two = Math.min(1, room / (Math.min(2, count) * height));
  const shrink = two >= LEAST ? two : Math.min(1, room / height);
  return { shrink, slots: Math.max(1, Math.floor(room / (height * shrink) + 1e-6)) };
}

/**
 * The slots when they should show the systems from one on: what is shown already stays where it is.
 *
 * @param {number[]} slots the system in each
 * @param {number} from the first that should be shown
 * @param {number} last the last that is played
 * @returns {number[]}
 */
export function turned(slots, from, last) {
  const wanted = slots.map((_, index) => from + index).filter((system) => system <= last);
  const missing = wanted.filter((system) => !slots.includes(system));
  return slots.map((system) => (wanted.includes(system) ? system : (missing.shift() ?? system)));
}

/**
 * The first system that should be shown.
 *
 * @param {number} system that sounds
 * @param {number} share of it that has sounded, 0..1
 * @param {{first: number, slots: number}} pass the first system that is played, and how many are shown
 * @returns {number}
 */
export function shownFrom(system, share, { first, slots }) {
  return slots === 1 || share >= DONE_WITH ? system : Math.max(first, system - 1);
}
