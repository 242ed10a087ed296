import assert from "node:assert/strict";
import { test } from "node:test";

import { GRID_TOP, gridPicture } from "../../web_client/progress_grid.js";
import { READY_TOP, readyPicture, slowest } from "../../web_client/progress_ready.js";
import { having, outside, pass, ready, start, texts } from "./progress_data.mjs";

const FRAME = { width: 340, top: READY_TOP };

test("a faster measure stands farther right, the goal by its own line", () => {
  const picture = readyPicture([ready(1, 70), ready(2, 100)], [1, 2], 120, FRAME);

  const [slow, fast] = having(picture, "mark").map(start);
  assert.ok(slow.x < fast.x && fast.y > slow.y);
  assert.ok(having(picture, "goal")[0].set.x1 > fast.x);
});

test("the interval goes to both sides of the ready tempo", () => {
  const picture = readyPicture([ready(1, 100)], [1], 120, FRAME);

  const [, from, to] = /^M([\d.]+) [\d.]+H([\d.]+)/.exec(having(picture, "range")[0].set.d).map(Number);
  const middle = start(having(picture, "mark")[0]).x;
  assert.ok(from < middle && middle < to);
});

test("an interval that is far too wide is cut, with a point that says that it goes on", () => {
  const certain = readyPicture([ready(1, 100)], [1], 120, FRAME);
  const open = readyPicture([ready(1, 100, { low: 5, high: 900 })], [1], 120, FRAME);

  assert.ok(!having(certain, "range")[0].set.d.includes("l"));
  assert.match(having(open, "range")[0].set.d, /m4 -4l-4 4l4 4.*m-4 -4l4 4l-4 4/);
  assert.deepEqual(outside(open), []);
});

test("the tempo stands in figures, with a tick where the goal is reached: at it, not just under it", () => {
  const lines = [ready(1, 119.4), ready(2, 119.6), ready(3, 120)];

  assert.deepEqual(texts({ parts: having(readyPicture(lines, [1, 2, 3], 120, FRAME), "value") }), ["119", "✓ 120", "✓ 120"]);
});

test("the slowest hold it back: two at most, only below the goal, the slowest first", () => {
  const lines = [ready(1, 90), ready(2, 130), ready(3, 80), ready(4, 85)];

  assert.deepEqual(slowest(lines, 120).map(({ measure }) => measure), [3, 4]);
  assert.deepEqual(slowest(lines, 85).map(({ measure }) => measure), [3]);
  assert.deepEqual(slowest(lines, 60), []);
  assert.deepEqual(lines.map(({ measure }) => measure), [1, 2, 3, 4]);
});

test("what holds it back is marked in the figures and explained", () => {
  const picture = readyPicture([ready(1, 90), ready(2, 130)], [1, 2], 120, FRAME);

  assert.deepEqual(having(picture, "slow").map(({ words }) => words), ["90"]);
  assert.ok(picture.key.some(({ words }) => words === "slowest"));
  assert.ok(!readyPicture([ready(2, 130)], [2], 120, FRAME).key.some(({ words }) => words === "slowest"));
});

test("rows meet those of the passes beside them, with a pickup and 64 measures too", () => {
  const measures = Array.from({ length: 65 }, (_, number) => number);
  const beside = readyPicture([ready(0, 90), ready(64, 95)], measures, 120, { width: 340, top: GRID_TOP });
  const passes = gridPicture([pass(0, { 0: true, 64: true })], 1, measures, 120, 500);

  const rows = (picture) => picture.parts.filter(({ words }) => ["0", "1", "64"].includes(words)).map(({ set }) => set.y);
  assert.equal(beside.height, passes.height);
  assert.deepEqual(rows(beside), rows(passes).slice(-3));
  assert.deepEqual(outside(beside), []);
});

test("measures that have no mark are accounted for", () => {
  assert.match(readyPicture([ready(1, 90)], [1, 2], 120, FRAME).desc, /A measure without it was not heard to the click yet\./);
  assert.doesNotMatch(readyPicture([ready(1, 90)], [1], 120, FRAME).desc, /without it/);
});

test("the table tells how far the goal is", () => {
  const { head, rows } = readyPicture([ready(6, 78), ready(7, 124)], [6, 7], 120, FRAME).table;

  assert.equal(head.length, 6);
  assert.deepEqual(rows, [["6", "78", "70", "86", "42 below", "12"], ["7", "124", "112", "136", "reached (+4)", "12"]]);
});

test("without a goal nothing is said against it; without measures there is no picture", () => {
  const picture = readyPicture([ready(1, 78)], [1], null, FRAME);

  assert.deepEqual(having(picture, "goal"), []);
  assert.equal(picture.table.head.length, 5);
  assert.equal(picture.table.rows[0].length, 5);
  assert.equal(readyPicture([], [1], 120, FRAME), null);
});
