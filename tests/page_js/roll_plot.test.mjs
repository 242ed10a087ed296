import assert from "node:assert/strict";
import { test } from "node:test";

import { NOTICED_MS, ROLL_PLOT, countsOf, extremes, rollPlotOf } from "../../web_client/roll_plot.js";

const roll = (/** @type {number[]} */ ...offsets) => offsets.map((offset_ms, index) => ({ slot: index + 1, offset_ms }));

test("rollPlotOf: late stands above the middle, early below it, in order across", () => {
  const { places, middle } = rollPlotOf(roll(12, -8, 0));

  assert.ok(places[0].y < middle && places[1].y > middle);
  assert.equal(places[2].y, middle);
  assert.ok(places[0].x < places[1].x && places[1].x < places[2].x);
});

test("rollPlotOf: all is within the picture, at a limit of the scale too", () => {
  for (const offsets of [[1, -1], [20, -20], [20.1, 0], [399, -400], [950, -3]]) {
    const { places, scale, lines } = rollPlotOf(roll(...offsets));

    assert.ok(scale >= Math.max(...offsets.map(Math.abs)));
    for (const { x, y } of places) {
      assert.ok(x > ROLL_PLOT.left && x < ROLL_PLOT.width - ROLL_PLOT.right);
      assert.ok(y >= ROLL_PLOT.top && y <= ROLL_PLOT.height - ROLL_PLOT.bottom);
    }
    assert.deepEqual(lines.map(({ ms }) => ms), [scale, 0, -scale]);
  }
});

test("rollPlotOf: small offsets look small", () => {
  assert.equal(rollPlotOf(roll(2, -2)).scale, 20);
  assert.equal(rollPlotOf(roll(20, 0)).scale, 20);
  assert.equal(rollPlotOf(roll(20.1, 0)).scale, 40);
});

test("rollPlotOf: a place that is missing leaves its room", () => {
  const all = rollPlotOf(roll(1, 2, 3, 4)).places;
  const some = rollPlotOf(roll(1, 2, 3, 4).filter(({ slot }) => slot !== 2)).places;

  assert.deepEqual(some.map(({ x }) => x), [all[0].x, all[2].x, all[3].x]);
});

test("extremes: the earliest and the latest, where they can be noticed", () => {
  const found = extremes(roll(3, -12, 8, -9));

  assert.deepEqual([found.early?.slot, found.late?.slot], [2, 3]);
  assert.deepEqual(extremes(roll(NOTICED_MS - 0.1, 0.1 - NOTICED_MS)), { early: null, late: null });
  assert.equal(extremes(roll(NOTICED_MS, 0)).late?.slot, 1);
  assert.deepEqual(extremes([]), { early: null, late: null });
});

test("countsOf: as a measure is counted aloud", () => {
  assert.deepEqual(countsOf("4/4", "1/2"), ["1", "&", "2", "&", "3", "&", "4", "&"]);
  assert.deepEqual(countsOf("2/2", "1/2"), ["1", "·", "&", "·", "2", "·", "&", "·"]);
  assert.deepEqual(countsOf("3/4", "1/2"), ["1", "&", "2", "&", "3", "&"]);
  assert.deepEqual(countsOf("6/8", "1/2"), ["1", "·", "·", "2", "·", "·"]);
  assert.deepEqual(countsOf("2/4", "1/4"), ["1", "·", "&", "·", "2", "·", "&", "·"]);
});
