import assert from "node:assert/strict";
import { test } from "node:test";

import { gridPicture } from "../../web_client/progress_grid.js";
import { having, outside, pass, start, texts } from "./progress_data.mjs";

test("a column a pass, a row a measure: full where clean, a cross where not, nothing where not played", () => {
  const picture = gridPicture([pass(1, { 1: true, 2: false }), pass(0, { 2: true })], 2, [1, 2], 120, 400);

  const [first, second] = having(picture, "clean").map(start);
  const [cross] = having(picture, "unclean").map(start);
  assert.equal(having(picture, "clean").length + having(picture, "unclean").length, 3);
  assert.equal(first.x, cross.x);
  assert.ok(second.x > first.x);
  assert.equal(second.y, cross.y);
  assert.ok(cross.y > first.y);
});

test("the tempo of a pass stands above its column, full where it was clean, higher where it was faster", () => {
  const slow = pass(0, { 1: true }, { tempo: 70 });
  const fast = pass(0, { 1: false }, { tempo: 90 });

  const [one, other] = having(gridPicture([slow, fast], 2, [1], 120, 400), "mark");

  assert.deepEqual([one, other].map(({ set }) => set.class.includes("full")), [true, false]);
  assert.ok(start(other).y < start(one).y);
});

test("sixty passes over 64 measures and a pickup stay inside, on a phone the newest alone, which is said", () => {
  const measures = Array.from({ length: 65 }, (_, number) => number);
  const played = Object.fromEntries(measures.map((number) => [number, number % 3 > 0]));
  const passes = Array.from({ length: 60 }, (_, index) => pass(60 - index, played, { tempo: 60 + index }));

  const wide = gridPicture(passes, 900, measures, 120, 800);
  const phone = gridPicture(passes, 900, measures, 120, 350);

  assert.equal(having(wide, "mark").length, 60);
  assert.match(wide.desc, /the last 60 of 900/);
  const shown = having(phone, "mark").length;
  assert.ok(shown >= 20 && shown < 60);
  assert.match(phone.desc, new RegExp(`the last ${shown} of 900`));
  assert.match(having(phone, "mark").at(-1).told, /at 119:/);
  assert.deepEqual([...outside(wide), ...outside(phone)], []);
  assert.ok(["0", "1", "64"].every((number) => texts(phone).includes(number)));
});

test("a pass that the player marked has a tempo and no measures", () => {
  const picture = gridPicture([pass(1, { 1: true }), pass(0, {}, { clean: true })], 2, [1], 120, 400);

  assert.equal(having(picture, "mark").length, 2);
  assert.equal(having(picture, "clean").length, 1);
  assert.deepEqual(picture.table.rows[0].slice(3), ["the whole", "clean", ""]);
});

test("passes marked by the player alone are still shown by their tempos", () => {
  const picture = gridPicture([pass(0, {}, { clean: true })], 1, [], 120, 400);

  assert.equal(having(picture, "mark").length, 1);
  assert.deepEqual(outside(picture), []);
});

test("a pass without a click has its measures but no one tempo", () => {
  const free = pass(0, { 1: true }, { judged: "freely", tempo: 300 });

  const picture = gridPicture([pass(1, { 1: true }), free], 2, [1], 120, 400);

  assert.equal(having(picture, "mark").length, 1);
  assert.equal(having(picture, "clean").length, 2);
  assert.ok(!texts(picture).some((words) => Number(words) > 125));
  assert.deepEqual(picture.table.rows.map((row) => row[1]), ["no click", "80"]);
  assert.deepEqual(outside(gridPicture([free], 1, [1], 120, 400)), []);
});

test("measures of the next tier are underlined, where they were played", () => {
  const picture = gridPicture([pass(0, { 1: true, 2: false }, { mix: [2, 3] })], 1, [1, 2], 120, 400);

  const [line, ...more] = having(picture, "next");
  assert.deepEqual(more, []);
  assert.ok(line.set.y1 > start(having(picture, "unclean")[0]).y);
  assert.ok(picture.key.some(({ words }) => words === "of the next tier"));
  assert.equal(picture.table.rows[0][2], "Intermediate; 2, 3 of the next");
});

test("a line and a date where a day begins", () => {
  const passes = [pass(3, { 1: true }), pass(3, { 1: true }), pass(0, { 1: true })];

  const picture = gridPicture(passes, 3, [1], 120, 400);

  assert.equal(having(picture, "day").length, 1);
  assert.ok(texts(picture).includes("23 Nov"));
});

test("the table has a row a pass and a column a measure", () => {
  const stopped = pass(0, { 1: true }, { kind: "spot", whole: false, clean: false, tempo: 71.6 });

  const { table } = gridPicture([stopped], 1, [1, 2], 120, 400);

  assert.deepEqual(table.head.slice(-2), ["1", "2"]);
  assert.deepEqual(table.rows, [["26 Nov", "72", "Intermediate", "a trouble spot", "stopped", "clean", ""]]);
});

test("no pass, no picture", () => {
  assert.equal(gridPicture([], 0, [], null, 400), null);
});
