import assert from "node:assert/strict";
import test from "node:test";

import { WEEK } from "../../web_client/week_english.js";

test("a week is named by its days, within a month and across", () => {
  assert.equal(WEEK.title("Anna", "2026-03-02", "2026-03-08"), "Anna: 2 to 8 March 2026");
  assert.equal(WEEK.title("Anna", "2026-03-30", "2026-04-05"), "Anna: 30 March to 5 April 2026");
  assert.equal(WEEK.title("Anna", "2025-12-29", "2026-01-04"), "Anna: 29 December to 4 January 2026");
});

test("one of something is not many", () => {
  assert.equal(WEEK.glance({ minutes: 1, passes: 1 }, 1, 1), "1 minute on 1 day, in 1 sitting and 1 pass.");
  const short = { day: "2026-11-26", minutes: 0.3, planned: 20 };
  assert.equal(WEEK.minutes.sittings([short, { ...short, minutes: 17.6 }]), "Sittings: Thu < 1 min of 20, Thu 18 min of 20.");
  assert.equal(WEEK.glance({ minutes: 0.3, passes: 2 }, 1, 0), "Less than a minute on 1 day, in 0 sittings and 2 passes.");
});

test("minutes that were few are not none", () => {
  assert.deepEqual([0, 0.2, 1, 12.5].map(WEEK.minutes.amount), ["–", "< 1", "1", "13"]);
});

test("how far something got that was set", () => {
  const one = { title: "Mill Lane", tier: "beginner", mix: [2, 3], goal: 96, until: "", words: "", by: "", rules: "", ended: null };
  assert.equal(WEEK.set.what({ ...one, reached: null }), "Mill Lane, beginner with measures 2, 3 of the next tier: goal 96");
  assert.equal(WEEK.set.far({ ...one, reached: null }), "No clean pass of the whole yet.");
  assert.equal(WEEK.set.far({ ...one, reached: 95.9 }), "Clean at 95 so far.");
  assert.equal(WEEK.set.far({ ...one, reached: 96 }), "Reached: clean at 96.");
});

test("a take is named by its measures and its day", () => {
  const take = { title: "Mill Lane", tier: "beginner", tempo: 84, day: "2026-03-04", first: 3, last: 3 };
  assert.equal(WEEK.takes.hear(/** @type {any} */ (take)), "Mill Lane, measure 3 at 84, Wed 4 Mar");
});
