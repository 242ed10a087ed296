import assert from "node:assert/strict";
import { test } from "node:test";

import { FOLLOWED, JUMP, LOOK_AHEAD, SCATTER, Schedule, TICK, TOO_LATE, roundToFrame } from "../../web_client/schedule.js";

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

/** How far a schedule is from where another clock wants it after so many seconds, that clock being faster by `drift`. */
function apartAfter(seconds, drift) {
  const schedule = new Schedule([], 5, RATE);
  let time = 0;
  let most = 0;
  for (; time < seconds; time += TICK) {
    assert.equal(schedule.follow(time, 5 + drift * time), false);
    most = Math.max(most, Math.abs(schedule.zero - 5 - drift * time));
  }
  return most;
}

test("a clock that drifts as fast as any clock may is followed within the scatter of readings", () => {
  for (const drift of [0.0005, -0.0005]) {
    assert.ok(apartAfter(600, drift) <= SCATTER + 2 * TICK * 0.0005, `${apartAfter(600, drift)}`);
  }
});

test("what seems apart by the scatter of readings alone moves nothing", () => {
  const schedule = new Schedule([], 5, RATE);

  for (let time = 0; time < 10; time += TICK) {
    schedule.follow(time, 5 + SCATTER * (Math.round(time / TICK) % 2 === 0 ? 0.99 : -0.99));
  }

  assert.equal(schedule.zero, 5);
});

test("cues move by no more than is never heard, until clocks are as far apart as no drift has them", () => {
  const schedule = new Schedule([], 5, RATE);
  schedule.follow(0, 5);

  assert.equal(schedule.follow(1, 5 + JUMP), false);
  assert.ok(Math.abs(schedule.zero - 5 - FOLLOWED) < 1e-12);
  assert.equal(schedule.follow(2, schedule.zero - JUMP), false);
  assert.ok(Math.abs(schedule.zero - 5) < 1e-12);
  assert.equal(schedule.follow(3, 5 + JUMP + 1e-6), true);
  assert.equal(schedule.zero, 5 + JUMP + 1e-6);
});

test("no cue is handed over before the one ahead of it, wherever the clock jumps", () => {
  const schedule = new Schedule([...Array(50).keys()].map((index) => click(index / 50)), 1, RATE);
  const given = [];
  for (let time = 0.9; time < 2.5; time += TICK) {
    schedule.follow(time, time < 1.4 ? 1 : 0.85);
    given.push(...schedule.due(time).map(({ when }) => when));
  }

  assert.ok(given.length > 40);
  assert.deepEqual(given, [...given].sort((a, b) => a - b));
});
