import assert from "node:assert/strict";
import { test } from "node:test";

import { isEcho, onGrid } from "../../web_client/enter_grid.js";
import { QUARTER } from "../../web_client/enter_tune.js";

/** Numbers between -1 and 1 that scatter about 0 as hands do, the same in every run: sums of twelve by Park and Miller. */
function scatter(seed) {
  let state = seed;
  return () => {
    let sum = -6;
    for (let count = 0; count < 12; count += 1) {
      state = (state * 48271) % 2147483647;
      sum += state / 2147483647;
    }
    return sum; // of standard deviation 1
  };
}

/** What a player plays who means notes at these ticks. */
function play(ticks, { tempo, late = 0, jitter = 0, seed = 7 }) {
  const by = scatter(seed);
  return ticks.map((tick, index) => ({
    seconds: (tick / QUARTER) * (60 / tempo) + late + jitter * by(),
    pitch: 55 + (index % 12), string: null, fret: null, velocity: 90,
  }));
}

/** Where the notes begin that came out of it, ties joined. */
function begins(notes, pickup = 0) {
  let at = 0 - pickup;
  let held = false;
  const found = [];
  for (const { pitch, length, tied } of notes) {
    if (pitch !== null && !held) {
      found.push(at);
    }
    held = tied;
    at += length;
  }
  return found;
}

const MELODY = [0, 48, 96, 120, 144, 192, 264, 288, 336, 384, 432, 456, 480, 576];
const QUICK = [0, 36, 48, 72, 84, 96, 108, 120, 132, 144, 192, 240, 252, 264, 288, 384];
const THREES = [0, 48, 64, 80, 96, 144, 192, 208, 224, 240, 264, 288, 336, 352, 368, 384];
const JIG = [0, 24, 48, 72, 120, 144, 168, 192, 216, 288, 312, 336, 360, 408, 432];

for (const [name, ticks, meter, tempos] of [
  ["quarters, eighths and dots", MELODY, "4/4", [60, 100, 140]],
  ["sixteenths", QUICK, "4/4", [50, 70]],
  ["triplets", THREES, "4/4", [60, 80]],
  ["a jig", JIG, "6/8", [60, 100, 140]],
]) {
  test(`${name} come out as they were meant, played by hands that scatter and lag`, () => {
    for (const tempo of tempos) {
      for (let seed = 1; seed <= 10; seed += 1) {
        for (const late of [0, 0.06, -0.04]) {
          const played = play(ticks, { tempo, late, jitter: 0.015, seed });

          const { notes, lateMs } = onGrid(played, { tempo, meter, pickup: 0, sixteenths: true });

          assert.deepEqual(begins(notes), ticks, `tempo ${tempo}, seed ${seed}, late ${late}`);
          assert.ok(Math.abs(lateMs - 1000 * late) < 20, `${lateMs}`);
        }
      }
    }
  });
}

test("where no sixteenths are wanted, eighths take more scatter", () => {
  const tempo = 140;
  const played = play(MELODY, { tempo, jitter: 0.03, seed: 3 });

  assert.deepEqual(begins(onGrid(played, { tempo, meter: "4/4", pickup: 0, sixteenths: false }).notes), MELODY);
});

test("each note lasts until the next, the last until the barline, and a late first one leaves a rest", () => {
  const { notes } = onGrid(play([48, 96, 192, 240], { tempo: 90 }), { tempo: 90, meter: "4/4", pickup: 0, sixteenths: true });

  assert.deepEqual(notes.map(({ pitch, length }) => [pitch, length]), [[null, 48], [55, 48], [56, 96], [57, 48], [58, 144]]);
});

test("a pickup stands before the first barline", () => {
  for (const [pickup, ticks] of [[48, [-48, 0, 96]], [24, [-24, 0, 48, 96]], [96, [-96, -48, -24, 0]]]) {
    const { notes } = onGrid(play(ticks, { tempo: 100, jitter: 0.01 }), { tempo: 100, meter: "3/4", pickup, sixteenths: true });

    assert.deepEqual(begins(notes, pickup), ticks);
    assert.equal(notes[0].length, ticks[1] - ticks[0]);
  }
});

test("a triplet fills its beat, and what is held into it or out of it is tied", () => {
  // A quarter that lasts into a beat in three, whose last note lasts into the next measure.
  const { notes } = onGrid(play([0, 64, 80, 144], { tempo: 60 }), { tempo: 60, meter: "3/4", pickup: 0, sixteenths: true });

  assert.deepEqual(notes.map(({ pitch, length, triplet, tied }) => [pitch, length, triplet, tied]), [
    [55, 48, false, true], [55, 16, true, false], [56, 16, true, false], [57, 16, true, true], [57, 48, false, false],
    [58, 144, false, false],
  ]);
});

test("two notes never have one place; one that has none is left out", () => {
  const tempo = 120;
  const played = play([0, 4, 48, 96], { tempo });

  const found = begins(onGrid(played, { tempo, meter: "4/4", pickup: 0, sixteenths: true }).notes);

  assert.equal(new Set(found).size, found.length);
  assert.ok(found.includes(48) && found.includes(96));
});

test("nothing played is no notes", () => {
  assert.deepEqual(onGrid([], { tempo: 100, meter: "4/4", pickup: 0, sixteenths: true }), { notes: [], lateMs: 0 });
});

test("what an instrument sends twice within 40 ms, or with its octave, is one note", () => {
  const before = { stamp: 1, pitch: 55 };

  assert.deepEqual(
    [[1.03, 55], [1.039, 67], [1.041, 55], [1.03, 59], [1.03, 43]].map(([stamp, pitch]) => isEcho(before, { stamp, pitch })),
    [true, true, false, false, true],
  );
  assert.equal(isEcho(null, before), false);
});

test("in 3/8 no triplet lies across a barline", () => {
  const second = 96; // ticks at 120 quarters a minute
  const played = [0, 24, 48, 64, 80, 108].map((tick) => ({ seconds: tick / second, pitch: 55, string: 3, fret: 0, velocity: 80 }));

  const { notes } = onGrid(played, { tempo: 120, meter: "3/8", pickup: 0, sixteenths: true });

  assert.ok(notes.every(({ triplet }) => !triplet));
});

test("more notes than a tune has room for are not put down", () => {
  const played = Array.from({ length: 1010 }, (_, index) => ({ seconds: index / 4, pitch: 55, string: 3, fret: 0, velocity: 80 }));

  const { notes } = onGrid(played, { tempo: 120, meter: "4/4", pickup: 0, sixteenths: false });

  assert.equal(notes.length, 1000);
});
