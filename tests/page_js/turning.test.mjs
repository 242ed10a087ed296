import assert from "node:assert/strict";
import { test } from "node:test";

import { DONE_WITH, fitting, shownFrom, turned } from "../../web_client/turning.js";

test("as many systems stand in the window as fit, to the pixel", () => {
  assert.deepEqual(fitting(200, 600, 9), { shrink: 1, slots: 3 });
  assert.deepEqual(fitting(200, 599, 9), { shrink: 1, slots: 2 });
});

test("where only one fits, the sheet is drawn smaller, so that the next one is in view", () => {
  assert.deepEqual(fitting(400, 600, 9), { shrink: 0.75, slots: 2 });
});

test("it is not drawn so small that it cannot be read", () => {
  assert.deepEqual(fitting(600, 600, 9), { shrink: 0.5, slots: 2 });
  assert.deepEqual(fitting(601, 600, 9).slots, 1);
  assert.deepEqual(fitting(800, 600, 9), { shrink: 0.75, slots: 1 });
});

test("a single system needs no room for a next one", () => {
  assert.deepEqual(fitting(400, 600, 1), { shrink: 1, slots: 1 });
});

test("a system gives its slot to the next that has none; the others stay", () => {
  assert.deepEqual(turned([0, 1], 1, 5), [2, 1]);
  assert.deepEqual(turned([2, 1], 2, 5), [2, 3]);
  assert.deepEqual(turned([0, 1, 2], 1, 5), [3, 1, 2]);
});

test("behind the last system a slot keeps what it shows", () => {
  assert.deepEqual(turned([4, 5], 5, 5), [4, 5]);
});

test("who goes back is shown where they are", () => {
  assert.deepEqual(turned([6, 5], 2, 9), [2, 3]);
});

test("the system before the one that sounds stays until that is well begun", () => {
  const pass = { first: 2, slots: 2 };

  assert.equal(shownFrom(5, DONE_WITH - 0.01, pass), 4);
  assert.equal(shownFrom(5, DONE_WITH, pass), 5);
  assert.equal(shownFrom(2, 0, pass), 2);
  assert.equal(shownFrom(5, 0, { first: 2, slots: 1 }), 5);
});

// Whatever the number of slots: what sounds is in view, stands where it was first shown, and the next one is there too.
test("through a whole pass the system that sounds is in view and has not moved since it was shown", () => {
  for (const slots of [2, 3, 6]) {
    let seats = Array.from({ length: slots }, (_, index) => index);
    const seen = new Map(seats.map((system, slot) => [system, slot]));
    for (let system = 0; system < 40; system += 1) {
      for (const share of [0, 0.2, 0.3, 0.9]) {
        seats = turned(seats, shownFrom(system, share, { first: 0, slots }), 39);
        seats.forEach((one, slot) => seen.set(one, seen.get(one) ?? slot));
        assert.equal(seats[seen.get(system)], system);
        if (share > DONE_WITH && system < 39) {
          assert.ok(seats.includes(system + 1));
        }
      }
    }
  }
});
