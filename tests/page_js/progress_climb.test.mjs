import assert from "node:assert/strict";
import { test } from "node:test";

import { climbPicture, climbed } from "../../web_client/progress_climb.js";
import { calendar } from "../../web_client/progress_days.js";
import { TODAY, climb, having, outside, start, texts } from "./progress_data.mjs";

const WIDE = { width: 800, from: null, today: TODAY };
const PHONE = { width: 350, from: null, today: TODAY };
const YEAR = Array.from({ length: 365 }, (_, ago) => climb(364 - ago, "intermediate", 50 + ago / 8, 70 + ago / 8, 60 + ago / 8, 1));

test("a week takes its slowest, its fastest, the fastest that was clean, and counts its passes", () => {
  const dates = calendar(TODAY - 364, TODAY, 800);
  const monday = dates.stretches.at(-1).first;
  const ago = TODAY - monday;

  const weeks = climbed(dates, [
    climb(ago, "advanced", 60, 72, null, 2),
    climb(ago - 1, "advanced", 64, 80, 70, 4),
    climb(ago - 2, "advanced", 58, 76, 74, 1),
    climb(ago - 2, "beginner", 110, 110, null, 1),
  ]);

  const index = dates.stretches.length - 1;
  assert.deepEqual(weeks, [
    { index, tier: "beginner", low: 110, high: 110, clean: null, passes: 1 },
    { index, tier: "advanced", low: 58, high: 80, clean: 74, passes: 7 },
  ]);
});

test("a faster clean day stands higher and farther right, each tier with its own shape", () => {
  const picture = climbPicture([climb(2, "beginner", 60, 80, 70), climb(1, "advanced", 60, 80, 75)], 120, WIDE);

  const [slow, fast] = having(picture, "mark");
  assert.ok(start(fast).y < start(slow).y && start(fast).x > start(slow).x);
  assert.notEqual(slow.set.d.replace(/[\d. -]/g, ""), fast.set.d.replace(/[\d. -]/g, ""));
});

test("where nothing was clean the mark is hollow and stands at the slowest, not at what was only tried", () => {
  const picture = climbPicture([climb(1, "beginner", 60, 90, 60), climb(0, "beginner", 60, 90, null)], 120, WIDE);

  const [clean, tried] = having(picture, "mark");
  assert.deepEqual([clean, tried].map(({ set }) => set.class.includes("hollow")), [false, true]);
  assert.equal(start(tried).y, start(clean).y);
});

test("tiers of one day stand beside each other", () => {
  const picture = climbPicture([climb(0, "beginner", 70, 70, 70), climb(0, "intermediate", 70, 70, 70)], 120, WIDE);

  const [easy, harder] = having(picture, "mark");
  assert.ok(start(harder).x - start(easy).x > 5);
});

test("a year is told by week on a desk and by month on a phone, and says so", () => {
  for (const [frame, each, most] of [[WIDE, "a week", 54], [PHONE, "a month", 13]]) {
    const picture = climbPicture(YEAR, 120, frame);

    assert.match(picture.desc, new RegExp(each));
    assert.ok(having(picture, "mark").length <= most && having(picture, "mark").length >= most - 1);
    assert.equal(picture.table.rows.reduce((sum, row) => sum + Number(row[5]), 0), 365);
    assert.deepEqual(outside(picture), []);
  }
});

test("the line of a tier breaks over weeks without a clean pass", () => {
  const lines = [climb(60, "beginner", 60, 60, 60), climb(50, "beginner", 62, 62, 62), climb(2, "beginner", 64, 64, 64)];

  const [way] = having(climbPicture(lines, 120, WIDE), "way");

  assert.equal(way.set.d.replace(/[\d. ]/g, ""), "MLM");
});

test("the goal is a line with its words, and is never cut off", () => {
  const picture = climbPicture([climb(0, "beginner", 60, 62, 61)], 200, PHONE);

  const [goal] = having(picture, "goal");
  assert.ok(goal.set.y1 < start(having(picture, "mark")[0]).y);
  assert.ok(texts(picture).includes("goal 200"));
  assert.deepEqual(outside(picture), []);
});

test("no goal, no goal line; no whole pass in the time that is shown, no picture", () => {
  assert.deepEqual(having(climbPicture([climb(0, "beginner", 60, 62, 61)], null, WIDE), "goal"), []);
  assert.equal(climbPicture([], 120, WIDE), null);
  assert.equal(climbPicture([climb(30, "beginner", 60, 62, 61)], 120, { ...WIDE, from: TODAY - 27 }), null);
});

test("a mark and a row of the table say what was played, the newest row first", () => {
  const lines = [climb(1, "advanced", 64, 64, null, 1), climb(0, "advanced", 70, 84, 78, 9)];

  const picture = climbPicture(lines, 120, WIDE);

  assert.deepEqual(having(picture, "mark").map(({ told }) => told), [
    "25 Nov, advanced: 1 whole pass at 64, none clean",
    "26 Nov, advanced: 9 whole passes at 70 to 84, fastest clean 78",
  ]);
  assert.deepEqual(picture.table.rows, [
    ["26 Nov", "Advanced", "70", "84", "78", "9"],
    ["25 Nov", "Advanced", "64", "64", "–", "1"],
  ]);
});
