import assert from "node:assert/strict";
import { test } from "node:test";

import { BEFORE, momentSpan, spanOf } from "../../web_client/after_time.js";

/** @type {any} A pickup of half a second, and three measures of two seconds. */
const TAKE = { positions: [[0, 0], [1, 0.5], [2, 2.5], [3, 4.5]], length: 6.5, end: 6.5 };

test("spanOf: from the start of a measure to the next, the last to the end", () => {
  assert.deepEqual(spanOf(TAKE, 1), { start: 0.5, end: 2.5 });
  assert.deepEqual(spanOf(TAKE, 3), { start: 4.5, end: 6.5 });
  assert.equal(spanOf(TAKE, 4), null);
});

test("spanOf: what the take does not reach is not there", () => {
  assert.deepEqual(spanOf({ ...TAKE, end: 4.5 }, 3), { start: 4.5, end: 6.5 });
  assert.equal(spanOf({ ...TAKE, end: 4.4 }, 3), null);
});

test("momentSpan: half a measure before the moment, and half a measure behind it", () => {
  assert.deepEqual(momentSpan(TAKE, 2, 0.25), { from: 2, to: 4 });
  assert.deepEqual(momentSpan(TAKE, 1, 0), { from: -BEFORE, to: 1.5 });
  assert.equal(momentSpan(TAKE, 7, 0), null);
});
