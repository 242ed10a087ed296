import assert from "node:assert/strict";
import { test } from "node:test";

import { countAt, measureAt, placeAt, writtenAt } from "../../web_client/moving.js";

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

test("the place is the measure, the one ahead, and the share of it that has sounded", () => {
  assert.deepEqual(placeAt(positions, 0.25, 4.5), { measure: 0, next: 1, share: 0.5 });
  assert.deepEqual(placeAt(positions, 0.5, 4.5), { measure: 1, next: 2, share: 0 });
  assert.deepEqual(placeAt(positions, 4, 4.5), { measure: 2, next: null, share: 0.75 });
});

test("there is no place in the count-in or after the end", () => {
  assert.equal(placeAt(positions, -0.001, 4.5), null);
  assert.equal(placeAt(positions, 4.5, 4.5), null);
});

const near = (got, wanted) => assert.ok(Math.abs(got - wanted) < 1e-9, `${got} is not ${wanted}`);

test("in even time the written place goes with the share", () => {
  const measure = { length: 4, pair: 1, bounce: 50, pickup: false };

  [0, 0.125, 0.3, 0.99, 1].forEach((share) => near(writtenAt(share, measure), 4 * share));
});

test("with bounce the second slot of a pair is reached later, and pairs begin where they do in even time", () => {
  const measure = { length: 4, pair: 1, bounce: 60, pickup: false };

  // Worked by hand: a pair lasts a quarter of the measure, its second slot begins at 60 percent of it.
  near(writtenAt(0.25 * 0.6, measure), 0.5);
  near(writtenAt(0.25 * 0.3, measure), 0.25);
  near(writtenAt(0.25 * 0.8, measure), 0.75);
  near(writtenAt(0.75, measure), 3);
  near(writtenAt(0.75 + 0.25 * 0.6, measure), 3.5);
});

test("in a pickup, pairs are counted from its end", () => {
  // Three slots of half a quarter: the second of a pair (40 percent of it) and a whole pair.
  const measure = { length: 1.5, pair: 1, bounce: 60, pickup: true };

  near(writtenAt(0.4 / 1.4, measure), 0.5);
  near(writtenAt(1, measure), 1.5);
  near(writtenAt(1 / 1.4, measure), 1);
});
