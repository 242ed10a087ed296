/**
 * The tiers: their order, a sign for each, and which measure of a mixed solo is of which.
 *
 * Pure: no document.
 *
 * @module tiers
 */

/** @typedef {"beginner" | "intermediate" | "advanced"} Tier */

/** The easiest first. */
export const TIERS = Object.freeze(/** @type {Tier[]} */ (["beginner", "intermediate", "advanced"]));

/** @type {Readonly<Record<string, string>>} A shape for each tier, the same as in the pictures of progress. */
export const SIGNS = Object.freeze({ beginner: "●", intermediate: "◆", advanced: "▲" });

/**
 * @param {string} tier
 * @returns {string} the one that follows it; empty behind the last
 */
export function tierAfter(tier) {
  const at = TIERS.findIndex((one) => one === tier);
  return at < 0 ? "" : (TIERS[at + 1] ?? "");
}

/**
 * The tier of each measure of a mixed solo.
 *
 * @param {any} arrangement as in its file
 * @returns {Map<number, string>} by number, in the order of the measures; empty where all are of one tier
 */
export function tiersOf(arrangement) {
  return arrangement.tier === "mixed"
    ? new Map(arrangement.measures.map((/** @type {any} */ measure) => [measure.number, measure.tier]))
    : new Map();
}

/**
 * The tiers of a mixed solo with their measures.
 *
 * @param {Map<number, string>} tiers by measure
 * @returns {[tier: string, measures: number[]][]} the easiest first
 */
export function measuresByTier(tiers) {
  return TIERS.flatMap((tier) => {
    const numbers = [...tiers].flatMap(([number, own]) => (own === tier ? [number] : []));
    return numbers.length === 0 ? [] : [/** @type {[string, number[]]} */ ([tier, numbers])];
  });
}
