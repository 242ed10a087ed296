import assert from "node:assert/strict";
import { test } from "node:test";

import { doneOf } from "../../web_client/after_goal.js";

const RUNG = { use: "whole", tempo: 120, tier: "advanced" };

/** @returns {any} A clean pass at the goal through the hardest solo, with other things as told. */
function now({ state = {}, report = {}, tempo = 120, study = false } = {}) {
  const first = { goal: 120, policy: "coach", tier: "advanced", rung: RUNG, sitting: null };
  return { state: { ...first, ...state }, report: { whole: true, clean: true, free: false, ...report }, tempo, study };
}

const what = (/** @type {any} */ told) => doneOf(now(told))?.what ?? null;

test("doneOf: the hardest solo, clean at its goal, where nothing but itself is offered", () => {
  assert.equal(what({}), "solo");
  assert.equal(what({ tempo: 119.9 }), null);
  assert.equal(what({ report: { clean: false } }), null);
  assert.equal(what({ report: { whole: false } }), null);
  assert.equal(what({ report: { free: true } }), null);
  assert.equal(what({ state: { rung: { ...RUNG, use: "jam" } } }), null);
  assert.equal(what({ state: { rung: null } }), null);
});

test("doneOf: an easier solo is at its end only where it is a roll study", () => {
  const easier = { tier: "beginner", rung: { ...RUNG, tier: "beginner" } };

  assert.equal(what({ state: easier }), null);
  assert.equal(what({ state: easier, study: true }), "solo");
});

test("doneOf: a ladder of fixed steps at its goal, whatever is offered", () => {
  assert.equal(what({ state: { policy: "steps", tier: "beginner", rung: null } }), "ladder");
  assert.equal(what({ state: { policy: "steps" }, tempo: 116 }), null);
});

test("doneOf: a sitting whose minutes are played, after a pass", () => {
  const sitting = (/** @type {number} */ played) => ({ sitting: { minutes: 30, played, rest: false } });

  assert.equal(what({ state: sitting(30), report: { clean: false } }), "sitting");
  assert.equal(what({ state: sitting(29.9), report: { clean: false } }), null);
  assert.equal(doneOf({ ...now({ state: sitting(30) }), report: null }), null);
});

test("doneOf: the next goal is about a tenth higher, and never beyond what can be set", () => {
  const higher = (/** @type {number} */ goal) => doneOf(now({ state: { policy: "steps", goal }, tempo: 400 }))?.higher;

  assert.deepEqual([20, 120, 160, 380, 400].map(higher), [24, 132, 176, 400, 400]);
});
