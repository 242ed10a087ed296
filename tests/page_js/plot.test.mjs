import assert from "node:assert/strict";
import { test } from "node:test";

import { PLOT, plotOf } from "../../web_client/plot.js";

const TOP = PLOT.top;
const BOTTOM = PLOT.height - PLOT.bottom;

test("plotOf: later notes stand higher, and all within the picture", () => {
  const { dots, y } = plotOf([-20, 0, 35, 60], 20);

  assert.deepEqual(dots.map((dot) => dot.click), [1, 2, 3, 4]);
  assert.deepEqual(dots.map((dot) => dot.y), [-20, 0, 35, 60].map(y));
  assert.ok(y(60) < y(20) && y(20) < y(0) && y(0) < y(-20));
  assert.ok(dots.every((dot) => dot.y >= TOP && dot.y <= BOTTOM && dot.x > PLOT.left && dot.x < PLOT.width - PLOT.right));
});

test("plotOf: the click is always a line of the scale, and there are few lines", () => {
  for (const offsets of [[5, 8], [200, 280], [-90, -60], [-280, 280], [null, null]]) {
    const { lines } = plotOf(offsets, 0);

    assert.ok(lines.some((line) => line.ms === 0), `no click in ${offsets}`);
    assert.ok(lines.length >= 2 && lines.length <= 6, `${lines.length} lines`);
    assert.ok(lines.every((line) => line.y >= TOP && line.y <= BOTTOM));
  }
});

test("plotOf: a click without a note has a place and no dot", () => {
  const { dots, without } = plotOf([10, null, 12, null], 11);

  assert.deepEqual(dots.map((dot) => dot.click), [1, 3]);
  assert.deepEqual(without.map((click) => click.click), [2, 4]);
  assert.ok(dots[0].x < without[0].x && without[0].x < dots[1].x);
});
