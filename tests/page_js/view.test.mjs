import assert from "node:assert/strict";
import { test } from "node:test";

import { layoutOf, lookOf } from "../../web_client/view.js";

const desk = { narrow: false, broad: true };
const upright = { narrow: false, broad: false };
const phone = { narrow: true, broad: false };

test("the larger the sheet and the narrower the window, the fewer measures a system has", () => {
  assert.deepEqual(["arm", "large", "far"].map((size) => layoutOf(size, upright)), ["wide", "narrow", "single"]);
  assert.deepEqual(["arm", "large", "far"].map((size) => layoutOf(size, phone)), ["narrow", "single", "single"]);
  assert.deepEqual(["arm", "large", "far"].map((size) => layoutOf(size, desk)), ["wide", "narrow", "narrow"]);
});

test("what is kept is used as far as it can be", () => {
  const first = { size: "arm", tune: true, words: true, chords: true, fingers: true, side: "right" };

  assert.deepEqual(lookOf(null), first);
  assert.deepEqual(lookOf("far"), first);
  assert.deepEqual(lookOf({ size: "huge", side: 3, words: false }), { ...first, words: false });
  assert.deepEqual(lookOf({ size: "far", side: "left" }), { ...first, size: "far", side: "left" });
});
