import assert from "node:assert/strict";
import { test } from "node:test";

import { MOST_NOTES_IN_A_MESSAGE } from "../../web_client/messages.js";
import { Outbox } from "../../web_client/outbox.js";

const note = [0x90, 60, 96];
const numbers = (outbox) => outbox.pending.map(({ seq }) => seq);

function filled(count) {
  const outbox = new Outbox();
  for (let index = 0; index < count; index += 1) {
    outbox.add(index, note);
  }
  return outbox;
}

test("notes are numbered from 1 and kept until acknowledged", () => {
  const outbox = filled(3);

  outbox.acknowledge(2);

  assert.deepEqual(numbers(outbox), [3]);
  assert.equal(outbox.add(9, note).seq, 4);
});

test("at a later meeting what the service has is dropped, and numbers stay", () => {
  const outbox = filled(0);
  outbox.meet(0);
  for (const stamp of [1, 2, 3]) {
    outbox.add(stamp, note);
  }

  outbox.meet(1);

  assert.deepEqual(numbers(outbox), [2, 3]);
});

test("a page loaded anew goes on behind the numbers of the page before it", () => {
  const outbox = filled(2);

  outbox.meet(40);

  assert.deepEqual(numbers(outbox), [41, 42]);
  assert.equal(outbox.add(9, note).seq, 43);
});

test("a service that has lost its memory is sent only what it did not acknowledge", () => {
  const outbox = filled(0);
  outbox.meet(0);
  outbox.add(1, note);
  outbox.acknowledge(1);
  outbox.add(2, note);

  outbox.meet(0);

  assert.deepEqual(numbers(outbox), [2]);
});

test("portions keep the order and fit a message", () => {
  const portions = filled(MOST_NOTES_IN_A_MESSAGE * 2 + 1).portions();

  assert.deepEqual(portions.map((portion) => portion.length), [MOST_NOTES_IN_A_MESSAGE, MOST_NOTES_IN_A_MESSAGE, 1]);
  assert.deepEqual(portions.flat().map(({ seq }) => seq), [...Array(MOST_NOTES_IN_A_MESSAGE * 2 + 1).keys()].map((n) => n + 1));
});

test("nothing pending is no portion", () => {
  assert.deepEqual(new Outbox().portions(), []);
});
