import assert from "node:assert/strict";
import { test } from "node:test";

import { rungsRound, settingsOf, wayBack, wrongOf } from "../../web_client/drill.js";

const drill = { study: "", first: 5, last: 8, start: 60, goal: 120, step: 4, clean_needed: 2 };
const state = {
  tune: "mill", tier: "advanced", tempo: 84, goal: 160, floor: 50, first: 1, last: 16, measures: 16, policy: "coach",
  step: 4, clean_needed: 2, free_time: false, jam: true, mix: [3], with_solo: false, with_backing: true,
};

test("a drill of some measures stays with the tune, one of a roll study takes it whole", () => {
  const rule = { policy: "steps", tempo: 60, goal: 120, step: 4, clean_needed: 2, free_time: false, jam: false };

  assert.deepEqual(settingsOf(drill), { first: 5, last: 8, ...rule });
  assert.deepEqual(settingsOf({ ...drill, study: "forward" }), { tune: "forward", whole: true, ...rule });
});

test("the way back from a drill is what was practised before it", () => {
  const { first, last, measures, ...rest } = state;

  assert.deepEqual(wayBack(state), { ...rest, whole: true });
  assert.deepEqual(wayBack({ ...state, first: 3, last: 6 }), { ...rest, first: 3, last: 6 });
});

test("a drill that runs backwards or downhill is refused in words, and the measures of a study are nobody's", () => {
  assert.equal(wrongOf(drill), "");
  assert.equal(wrongOf({ ...drill, goal: 60 }), "");
  assert.equal(wrongOf({ ...drill, goal: 59 }), "The goal has to be no slower than the start.");
  assert.equal(wrongOf({ ...drill, first: 9 }), "The first measure has to come before the last.");
  assert.equal(wrongOf({ ...drill, first: 9, study: "forward" }), "");
});

test("of the ladder one rung below is shown, some above, and the goal", () => {
  const rungs = (tempo, more = {}) => rungsRound({ tempo, floor: 60, goal: 100, step: 4, ...more });

  assert.deepEqual(rungs(60), [60, 64, 68, 72, 100]);
  assert.deepEqual(rungs(80), [76, 80, 84, 88, 100]);
  assert.deepEqual(rungs(97), [93, 97, 100]);
  assert.deepEqual(rungs(100), [96, 100]);
  assert.deepEqual(rungs(60, { goal: 60 }), [60]);
});
