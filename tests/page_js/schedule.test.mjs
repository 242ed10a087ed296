import assert from "node:assert/strict";
import { test } from "node:test";

import { LOOK_AHEAD, Schedule, TICK, TOO_LATE, roundToFrame } from "../../web_client/schedule.js";

const RATE = 44100;
const click = (at) => [at, "click", 76, 0.03, 0.7];

/** Runs a schedule by a clock that looks every `tick` seconds and gives what was handed over. */
function run(schedule, from, until, tick = TICK) {
  const given = [];
  for (let time = from; time < until; time += tick) {
    given.push(...schedule.due(time).map(({ when, cue }) => ({ when, at: cue[0], told: time })));
  }
  return given;
}

test("every cue is handed over once, in order, on the frame nearest its place", () => {
  const cues = [...Array(64).keys()].map((index) => click(-2 + index / 7));
  const zero = 3.21;

  const given = run(new Schedule(cues, zero, RATE), 1, 13);

  assert.deepEqual(given.map(({ at }) => at), cues.map(([at]) => at));
  for (const { when, at } of given) {
    assert.equal(when, Math.round((zero + at) * RATE) / RATE);
    assert.ok(Math.abs(when - zero - at) <= 0.5 / RATE + 1e-12);
  }
});

test("a cue is handed over before it sounds and not sooner than the look-ahead", () => {
  const given = run(new Schedule([0, 0.5, 1, 1.5].map(click), 2, RATE), 1, 5);

  for (const { when, told } of given) {
    assert.ok(told < when && when < told + LOOK_AHEAD, `told ${told}, sounds ${when}`);
  }
});

test("a page that stands still for less than the look-ahead loses nothing and is on time", () => {
  const cues = [...Array(40).keys()].map((index) => click(index / 10));
  const schedule = new Schedule(cues, 1, RATE);

  const given = run(schedule, 0.9, 6, LOOK_AHEAD - 0.01);

  assert.equal(given.length, cues.length);
  assert.equal(schedule.leftOut, 0);
  assert.ok(given.every(({ when, at }) => Math.abs(when - 1 - at) <= 0.5 / RATE + 1e-12));
});

test("cues given in any order are sorted", () => {
  const given = run(new Schedule([1, -1, 0].map(click), 2, RATE), 0.5, 4);

  assert.deepEqual(given.map(({ at }) => at), [-1, 0, 1]);
});

test("a cue just late enough is left out, one just not so late sounds at once", () => {
  const schedule = new Schedule([click(0), click(0.001)], 1, 1000);

  const given = schedule.due(1 + TOO_LATE + 0.0005);

  assert.deepEqual(given.map(({ cue }) => cue[0]), [0.001]);
  assert.equal(given[0].when, 1 + TOO_LATE + 0.0005);
  assert.equal(schedule.leftOut, 1);
});

test("the end of the look-ahead is open", () => {
  const schedule = new Schedule([click(0)], 1, 1000);

  assert.deepEqual(schedule.due(1 - LOOK_AHEAD), []);
  assert.equal(schedule.due(1 - LOOK_AHEAD + 0.001).length, 1);
  assert.ok(schedule.done);
});

test("times are rounded to the nearest frame", () => {
  assert.equal(roundToFrame(1.00001, 44100), 1);
  assert.equal(roundToFrame(1 + 0.6 / 44100, 44100), 44101 / 44100);
});
