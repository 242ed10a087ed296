import assert from "node:assert/strict";
import { test } from "node:test";

import { BEHIND, Heard, TOO_LATE } from "../../web_client/desk_heard.js";

const on = (stamp, pitch, string = null, velocity = 100) => ({ stamp, data: [0x90, pitch, velocity], string });
const off = (stamp, pitch, string = null) => ({ stamp, data: [0x80, pitch, 0], string });

function heard() {
  const struck = [];
  const told = new Heard((pitch, level, when) => {
    const voice = { pitch, level, when, stopped: null, stop: (at) => (voice.stopped = at) };
    struck.push(voice);
    return voice;
  });
  return { told, struck };
}

test("notes sound a fixed moment after they were played, however they come over the line", () => {
  const { told, struck } = heard();
  const stamps = [10, 10.125, 10.25, 10.375];
  const came = [10.02, 10.39, 10.4, 10.41];
  stamps.forEach((stamp, index) => told.take(on(stamp, 60 + index), came[index]));

  assert.deepEqual(struck.map(({ when }) => when), stamps.map((stamp) => stamp + BEHIND[0]));
});

test("what comes too late to sound at its time is left out and counted", () => {
  const { told, struck } = heard();
  told.take(on(10, 60), 10 + BEHIND[0] + TOO_LATE);
  told.take(on(11, 60), 11 + BEHIND[0] + TOO_LATE + 0.001);

  assert.deepEqual([struck.length, told.late], [1, 1]);
  told.behind = BEHIND[1];
  told.take(on(12, 60), 12 + BEHIND[0] + TOO_LATE + 0.001);
  assert.deepEqual([struck.length, told.late], [2, 1]);
});

test("a string that is struck anew, and a note that ends, stop what sounds", () => {
  const { told, struck } = heard();
  told.take(on(1, 60, 3), 1);
  told.take(on(2, 62, 3), 2);
  told.take(off(3, 60, 3), 3); // the end of the one before says nothing any more
  assert.deepEqual(struck.map(({ stopped }) => stopped), [2 + BEHIND[0], null]);

  told.take(off(4, 62, 3), 4);
  assert.equal(struck[1].stopped, 4 + BEHIND[0]);
});

test("where the instrument does not tell strings, each pitch is one of its own", () => {
  const { told, struck } = heard();
  told.take(on(1, 60), 1);
  told.take(on(1.1, 64), 1.1);
  told.take({ stamp: 1.2, data: [0x91, 60, 0], string: null }, 1.2); // a note on without force is an end

  assert.deepEqual(struck.map(({ stopped }) => stopped), [1.2 + BEHIND[0], null]);
});

test("an end that comes late stops the note now, not in the past", () => {
  const { told, struck } = heard();
  told.take(on(1, 60), 1);
  told.take(off(1.5, 60), 5);

  assert.equal(struck[0].stopped, 5);
});

test("a soft note is softer, and still heard", () => {
  const { told, struck } = heard();
  [1, 64, 127].forEach((velocity, index) => told.take(on(index, 60 + index, null, velocity), index));
  const [soft, middle, full] = struck.map(({ level }) => level);

  assert.ok(soft > 0.1 && soft < middle && middle < full);
  assert.equal(full, 1);
});

test("other messages of an instrument sound nothing", () => {
  const { told, struck } = heard();
  told.take({ stamp: 1, data: [0xe0, 0, 64], string: null }, 1);
  told.take({ stamp: 1, data: [0xb0, 64, 127], string: null }, 1);
  told.take({ stamp: 1, data: [0xd0, 60], string: null }, 1);

  assert.equal(struck.length, 0);
});

test("all falls silent at once", () => {
  const { told, struck } = heard();
  told.take(on(1, 60), 1);
  told.take(on(1, 64), 1);
  told.quiet(1.2);

  assert.deepEqual(struck.map(({ stopped }) => stopped), [1.2, 1.2]);
});
