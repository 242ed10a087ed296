import assert from "node:assert/strict";
import { test } from "node:test";

import { countAt, measureAt } from "../../web_client/moving.js";

const positions = [[0, 0], [1, 0.5], [2, 2.5]];

test("the sounding measure is the last that has started", () => {
  const sounding = [0, 0.49, 0.5, 2.49, 2.5, 4.4].map((seconds) => measureAt(positions, seconds, 4.5));

  assert.deepEqual(sounding, [0, 0, 1, 1, 2, 2]);
});

test("no measure sounds in the count-in or after the end", () => {
  assert.equal(measureAt(positions, -0.001, 4.5), null);
  assert.equal(measureAt(positions, 4.5, 4.5), null);
});

const begin = {
  cues: [
    [-2, "accent", 76, 0.03, 1],
    [-1.75, "click", 76, 0.03, 0.3],
    [-1.5, "click", 76, 0.03, 0.7],
    [-1.25, "click", 76, 0.03, 0.3],
    [-1, "accent", 76, 0.03, 1],
    [-0.5, "click", 76, 0.03, 0.7],
    [-0.5, "bass", 43, 0.5, 1],
    [0, "accent", 76, 0.03, 1],
  ],
};

test("the count-in counts beats, not the light clicks between them, anew in each measure", () => {
  const counts = [-2.1, -2, -1.7, -1.5, -1.1, -1, -0.4].map((seconds) => countAt(begin, seconds));

  assert.deepEqual(counts, [0, 1, 1, 2, 2, 1, 2]);
});
