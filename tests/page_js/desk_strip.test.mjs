import assert from "node:assert/strict";
import { test } from "node:test";

import { MOST, shownMeasures, shownPasses, strips } from "../../web_client/desk_strip.js";
import { card, pass } from "./desk_data.mjs";

const kinds = ({ parts }, kind) => parts.filter((part) => part.kind === kind).map(({ key }) => key);
const numbers = (path) => (path.match(/-?\d+(\.\d+)?/g) ?? []).map(Number);

test("clean is a tick, not clean a ring, and nothing stands where nothing was played", () => {
  const picture = strips(card("amy", { strips: [pass([true, false]), pass([false, true, true])] }), 4);

  assert.deepEqual(kinds(picture, "tick"), ["over 2 1 tick", "over 1 2 tick", "over 1 3 tick"]);
  assert.deepEqual(kinds(picture, "ring"), ["over 2 2 ring", "over 1 1 ring"]);
  assert.deepEqual([picture.first, picture.last], [1, 16]);
});

test("a row is a pass, the latest lowest, and more than there is room for are left out", () => {
  const passes = [1, 2, 3].map((tempo) => pass([true], { tempo }));
  const { parts } = strips(card("amy", { strips: passes }), 2);
  const heights = parts.filter(({ kind }) => kind === "tick").map(({ path }) => numbers(path)[1]);

  assert.deepEqual(shownPasses(card("amy", { strips: passes }), 2).map(({ tempo }) => tempo), [2, 3]);
  assert.equal(heights.length, 2);
  assert.ok(heights[0] < heights[1]);
});

test("passes of another tune have other measures: they are not shown", () => {
  const other = pass([false, false], { tune: "otter-run" });

  assert.deepEqual(kinds(strips(card("amy", { strips: [other, pass([true])] }), 8), "ring"), []);
});

test("the pass that is played grows on the stave, with its place below", () => {
  const first = strips(card("amy", { marks: pass([true]), measure: 1 }), 2);
  const next = strips(card("amy", { marks: pass([true, false]), measure: 2 }), 2);
  const tick = (picture) => picture.parts.find(({ key }) => key === "now 1 tick");

  assert.deepEqual([kinds(first, "now"), kinds(next, "now")], [["at 1"], ["at 2"]]);
  assert.deepEqual(tick(next), tick(first)); // what stands is not drawn anew
  assert.deepEqual(kinds(next, "ring"), ["now 2 ring"]);
});

test("the measure that fails is framed", () => {
  assert.deepEqual(kinds(strips(card("amy", { stuck: 7 }), 2), "stuck"), ["stuck 7"]);
  assert.deepEqual(kinds(strips(card("amy"), 2), "stuck"), []);
});

test("a pass that the student marked is one mark, and a line for the rest", () => {
  const picture = strips(card("amy", { strips: [pass([false], { marked: true })] }), 2);

  assert.deepEqual([kinds(picture, "ring"), kinds(picture, "own")], [["over 1 1 ring"], ["over 1 own"]]);
});

test("only what is practised has a stave", () => {
  const stave = (more) => numbers(strips(card("amy", more), 2).parts.find(({ kind }) => kind === "stave").path);

  assert.equal(stave({})[0], 0);
  assert.equal(stave({ first: 5, last: 8 })[0], 60);
  assert.equal(stave({ first: 5, last: 8 })[2], 120);
});

test("of a long tune the measures around the one that counts are shown", () => {
  const long = (more) => shownMeasures(card("amy", { last: 64, measures: 64, ...more }));

  assert.deepEqual(shownMeasures(card("amy", { last: MOST, measures: MOST })), [1, MOST]);
  assert.deepEqual(long({}), [1, MOST]);
  assert.deepEqual(long({ measure: 40 }), [28, 28 + MOST - 1]);
  assert.deepEqual(long({ measure: 40, stuck: 63 }), [64 - MOST + 1, 64]);
});

test("a pickup is measure 0", () => {
  assert.deepEqual(shownMeasures(card("amy", { first: 0, last: 16, measures: 17 })), [0, 16]);
});

test("everything lies within the picture, however many measures there are", () => {
  for (const measures of [1, 2, 7, 16, 23, 24, 25, 200]) {
    const clean = Array.from({ length: measures }, (_, index) => index % 3 > 0);
    const busy = { last: measures, measures, measure: measures, stuck: measures, marks: pass(clean) };
    const { width, height, parts } = strips(card("amy", { ...busy, strips: Array(8).fill(pass(clean)) }), 8);
    for (const { kind, path } of parts.filter((part) => ["tick", "ring"].includes(part.kind))) {
      const points = numbers(path);
      assert.ok(points.every((value, at) => value >= -1.5 && value <= (at % 2 === 0 ? width : height) + 1.5), `${measures} ${kind} ${path}`);
    }
  }
});
