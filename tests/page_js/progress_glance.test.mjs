import assert from "node:assert/strict";
import { test } from "node:test";

import { glance } from "../../web_client/progress_glance.js";
import { TODAY, climb, dateOf, ready } from "./progress_data.mjs";

const NOTHING = { player: "home", tune: "reed-bank-0", title: "Reed Bank", goal: 120, tunes: [], passes: [], measures: [] };
const day = (ago, minutes) => ({ day: dateOf(TODAY - ago), minutes, tunes: {} });
const said = (more) => glance({ ...NOTHING, days: [], climb: [], ready: [], ...more }, "intermediate", TODAY);

test("the fastest clean pass of the tier, and the first day of it", () => {
  const lines = [
    climb(9, "beginner", 100, 110, 108),
    climb(6, "intermediate", 70, 110, 84),
    climb(5, "intermediate", 70, 90, null),
    climb(4, "intermediate", 70, 90, 84),
  ];

  assert.equal(said({ climb: lines })[0], "The fastest clean pass of the intermediate tier: 84, on 20 Nov. The goal is 120.");
  const before = [climb(366, "intermediate", 70, 90, 88), ...lines];
  assert.match(said({ climb: before })[0], /: 88, on 25 Nov 2025\./);
  assert.equal(said({})[0], "No whole pass of the intermediate tier was clean yet. The goal is 120.");
});

test("how many measures are ready, and the slowest by name", () => {
  const lines = [ready(1, 125), ready(6, 78), ready(7, 81), ready(8, 90), ready(6, 140, { tier: "beginner" })];

  assert.deepEqual(said({ ready: lines }).slice(1, 3), [
    "Ready at the goal: 1 of the 4 measures that were heard.",
    "Slowest: measure 6 (ready at 78) and measure 7 (ready at 81).",
  ]);
  assert.equal(said({ ready: [ready(1, 125), ready(2, 130)] })[1], "All 2 measures that were heard are ready at the goal.");
  assert.equal(said({ ready: lines, goal: null }).length, 2);
});

test("the last seven days beside the seven before: today counts, the eighth day does not", () => {
  const days = [day(14, 100), day(13, 20), day(7, 30), day(6, 40), day(0, 25)];

  assert.equal(said({ days }).at(-1), "The last seven days: 65 min on 2 days. The seven before: 50 min.");
  assert.equal(said({}).at(-1), "The last seven days: nothing. The seven before: nothing.");
});
