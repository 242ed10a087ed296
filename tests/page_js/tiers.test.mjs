import assert from "node:assert/strict";
import { test } from "node:test";

import { bracketed } from "../../web_client/brackets.js";
import { toggled } from "../../web_client/mix.js";
import { SIGNS, TIERS, measuresByTier, tierAfter, tiersOf } from "../../web_client/tiers.js";

const mixed = {
  tier: "mixed",
  measures: [[1, "intermediate"], [2, "advanced"], [3, "advanced"], [4, "intermediate"]].map(([number, tier]) => ({ number, tier })),
};

test("each tier has a shape of its own and one that follows, but the last", () => {
  assert.equal(new Set(TIERS.map((tier) => SIGNS[tier])).size, 3);
  assert.deepEqual([...TIERS, "none"].map(tierAfter), ["intermediate", "advanced", "", ""]);
});

test("the tiers of measures are told of a mixed solo only", () => {
  assert.deepEqual([...tiersOf(mixed)], [[1, "intermediate"], [2, "advanced"], [3, "advanced"], [4, "intermediate"]]);
  assert.equal(tiersOf({ ...mixed, tier: "intermediate" }).size, 0);
  assert.deepEqual(measuresByTier(tiersOf(mixed)), [["intermediate", [1, 4]], ["advanced", [2, 3]]]);
});

test("a bracket holds measures of a higher tier in a row, and ends with the system", () => {
  const row = (...told) => told.map(([tier, system]) => ({ tier, system }));
  const measures = row(["b", 1], ["a", 1], ["a", 1], ["a", 2], ["b", 2], ["a", 2], ["c", 2]);

  assert.deepEqual(bracketed(measures, "b"), [["a", 1, 2], ["a", 3, 3], ["a", 5, 5], ["c", 6, 6]]);
  assert.deepEqual(bracketed(row(["b", 1], ["b", 1]), "b"), []);
});

test("a measure is taken in, or out again, and the list keeps its order", () => {
  assert.deepEqual(toggled([8, 2], 5), [2, 5, 8]);
  assert.deepEqual(toggled([2, 5, 8], 5), [2, 8]);
});
