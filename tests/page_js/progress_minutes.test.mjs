import assert from "node:assert/strict";
import { test } from "node:test";

import { minutesPicture } from "../../web_client/progress_minutes.js";
import { TODAY, dateOf, having, outside, texts } from "./progress_data.mjs";

const TUNE = { id: "reed-bank-0", title: "Reed Bank" };
const WIDE = { width: 800, from: null, today: TODAY };
const day = (ago, own, other) => ({
  day: dateOf(TODAY - ago),
  minutes: own + other,
  tunes: { ...(own > 0 ? { [TUNE.id]: own } : {}), ...(other > 0 ? { "mill-lane-0": other } : {}) },
});

test("a bar is as high as its minutes, and filled as far as they were of the tune", () => {
  const picture = minutesPicture([day(1, 10, 10), day(0, 0, 40)], TUNE, WIDE);

  const all = having(picture, "all").map(({ set }) => set.height);
  const own = having(picture, "own").map(({ set }) => set.height);
  assert.equal(own.length, 1);
  assert.ok(Math.abs(all[1] / all[0] - 2) < 1e-9 && Math.abs(all[0] / own[0] - 2) < 1e-9);
  assert.ok(having(picture, "all").every(({ set }) => Math.abs(set.y + set.height - 146) < 1e-9));
});

test("a year is told by week, and nothing is lost or said twice", () => {
  const days = Array.from({ length: 365 }, (_, ago) => day(ago, 2, 1));

  for (const [width, name] of [[800, "Minutes a week"], [350, "Minutes a month"]]) {
    const picture = minutesPicture(days, TUNE, { ...WIDE, width });

    const { rows } = picture.table;
    const minutes = (column) => rows.reduce((sum, row) => sum + Number(/^(\d+) min$/.exec(row[column])[1]), 0);
    assert.deepEqual([minutes(1), minutes(2)], [3 * 365, 2 * 365]);
    assert.match(rows.at(-1)[0], / Nov 2025$|^Nov 2025$/);
    const high = having(picture, "all").reduce((sum, { set }) => sum + set.height, 0);
    const own = having(picture, "own").reduce((sum, { set }) => sum + set.height, 0);
    assert.equal(picture.title, name);
    assert.ok(Math.abs(own / high - 2 / 3) < 1e-9);
    assert.match(picture.desc, /is not over yet/);
    assert.deepEqual(outside(picture), []);
  }
});

test("only a week or month that goes on is told to be not over", () => {
  const sunday = TODAY + 3;
  const days = Array.from({ length: 200 }, (_, ago) => day(ago - 3, 2, 1));

  assert.doesNotMatch(minutesPicture(days, TUNE, { ...WIDE, today: sunday }).desc, /not over/);
  assert.match(minutesPicture(days.slice(1), TUNE, { ...WIDE, today: sunday - 1 }).desc, /not over/);
  assert.doesNotMatch(minutesPicture([day(0, 2, 1)], TUNE, WIDE).desc, /not over/);
});

test("minutes are written as minutes, and as hours where there are many", () => {
  assert.ok(texts(minutesPicture([day(0, 30, 0)], TUNE, WIDE)).includes("30 min"));
  assert.ok(texts(minutesPicture([day(0, 150, 0)], TUNE, WIDE)).includes("3 h"));
  const { rows } = minutesPicture([day(1, 0, 0.3), day(0, 125.2, 0.3)], TUNE, WIDE).table;
  assert.deepEqual(rows, [["26 Nov", "2 h 6 min", "2 h 5 min"], ["25 Nov", "1 min", "0 min"]]);
});

test("a day without practice has no bar; nothing played in the time, no picture", () => {
  assert.equal(having(minutesPicture([day(9, 5, 0), day(0, 5, 0)], TUNE, WIDE), "all").length, 2);
  assert.equal(minutesPicture([], TUNE, WIDE), null);
  assert.equal(minutesPicture([day(28, 5, 0)], TUNE, { ...WIDE, from: TODAY - 27 }), null);
});
