import assert from "node:assert/strict";
import { test } from "node:test";

import {
  beatAt, cameFrom, differing, isAs, pitchOf, pluckAt, positions, syllable, usualFinger, wrongOf,
} from "../../web_client/edit_measure.js";

const pluck = (at, string, fret, more = {}) => ({
  id: `m5e${at}`, at, length: "1/2", string, fret, pitch: 60, finger: "T", role: "fill", technique: "pick", ...more,
});

const measure = (plucks, more = {}) => ({
  number: 5, source_measure: 5, meter: "4/4", length: "4", tier: "advanced", chords: [], melody: [], plucks, ...more,
});

const written = (more = {}) => ({ string: 3, fret: 2, finger: "T", technique: "pick", from_fret: null, ...more });
const slur = (technique, from_fret, fret, string = 3) => written({ technique, from_fret, fret, string, finger: null });

test("a measure has a position for every slot, as exact fractions", () => {
  assert.deepEqual(positions(measure([]), "1/2", false), ["0", "1/2", "1", "3/2", "2", "5/2", "3", "7/2"]);
  assert.deepEqual(positions(measure([], { length: "1", slot: "1/3" }), "1/2", false), ["0", "1/3", "2/3"]);
});

test("a slur between two slots has a position of its own, and every other one on demand", () => {
  const slurred = measure([pluck("0", 3, 2), pluck("1/4", 3, 0, { technique: "pull-off", finger: null })], { length: "1" });

  assert.deepEqual(positions(slurred, "1/2", false), ["0", "1/4", "1/2"]);
  assert.deepEqual(positions(slurred, "1/2", true), ["0", "1/4", "1/2", "3/4"]);
});

test("beats are counted from one, in compound metres by three", () => {
  assert.deepEqual(beatAt(measure([]), "0"), [1, 0, false]);
  assert.deepEqual(beatAt(measure([]), "5/2"), [3, 0.5, false]);
  assert.deepEqual(beatAt(measure([], { meter: "2/2" }), "3"), [2, 0.5, false]);
  const [beat, share, compound] = beatAt(measure([], { meter: "6/8", length: "3" }), "2");
  assert.deepEqual([beat, compound], [2, true]);
  assert.ok(Math.abs(share - 1 / 3) < 1e-9);
});

test("a pickup is counted from its end", () => {
  assert.deepEqual(beatAt(measure([], { number: 0, length: "1" }), "0"), [4, 0, false]);
  assert.deepEqual(beatAt(measure([], { number: 1, length: "1" }), "0"), [1, 0, false]);
});

test("what stands at a place is found by position and string, and its syllable by its id", () => {
  const one = measure([pluck("0", 3, 2), pluck("0", 5, 0)], {
    melody: [{ at: "0", length: "1", pitch: 57, lyric: "rain", kept: true, pluck: "m5e0" }],
  });

  assert.equal(pluckAt(one, { at: "0", string: 5 })?.fret, 0);
  assert.equal(pluckAt(one, { at: "1/2", string: 5 }), null);
  assert.equal(syllable(one, "m5e0"), "rain");
  assert.equal(syllable(one, "m5e9"), null);
});

test("thumb, index and middle take the strings that they take as a rule", () => {
  assert.deepEqual([5, 4, 3, 2, 1].map(usualFinger), ["T", "T", "T", "I", "M"]);
});

test("a slur comes from what its string sounded last", () => {
  const one = measure([pluck("0", 3, 2), pluck("1/2", 2, 1), pluck("1", 3, 3)]);

  assert.equal(cameFrom(one, { at: "1/2", string: 3 }), 2);
  assert.equal(cameFrom(one, { at: "2", string: 3 }), 3);
  assert.equal(cameFrom(one, { at: "0", string: 3 }), 0);
});

test("a fret is a whole number from 0 to 22, and the fifth string has none from 1 to 5", () => {
  for (const [string, fret, wrong] of [
    [3, 0, ""], [3, 22, ""], [3, 23, "noFret"], [3, -1, "noFret"], [3, 1.5, "noFret"], [3, Number.NaN, "noFret"],
    [5, 0, ""], [5, 1, "noShort"], [5, 5, "noShort"], [5, 6, ""],
  ]) {
    assert.equal(wrongOf(written({ string, fret })), wrong, `string ${string} fret ${fret}`);
  }
});

test("a slur moves, a hammer-on up and a pull-off down", () => {
  assert.equal(wrongOf(slur("slide", 2, 2)), "noMove");
  assert.equal(wrongOf(slur("slide", 2, 5)), "");
  assert.equal(wrongOf(slur("slide", 5, 2)), "");
  assert.equal(wrongOf(slur("hammer-on", 2, 3)), "");
  assert.equal(wrongOf(slur("hammer-on", 3, 2)), "noHammer");
  assert.equal(wrongOf(slur("pull-off", 3, 2)), "");
  assert.equal(wrongOf(slur("pull-off", 2, 3)), "noPull");
  assert.equal(wrongOf(slur("hammer-on", Number.NaN, 3)), "noFrom");
  assert.equal(wrongOf(slur("hammer-on", 3, 7, 5)), "noShort");
});

test("a pluck that was not touched is as it stands", () => {
  const standing = pluck("0", 3, 2);

  assert.ok(isAs(standing, written()));
  for (const more of [{ fret: 3 }, { string: 4 }, { finger: "I" }, { technique: "slide", finger: null, from_fret: 0 }]) {
    assert.ok(!isAs(standing, written(more)), JSON.stringify(more));
  }
});

test("a place sounds its pitch by tuning and capo", () => {
  const solo = { capo: 2, tuning: { strings: { 1: 62, 2: 59, 3: 55, 4: 50, 5: 67 } } };

  assert.equal(pitchOf(solo, 3, 4), 61);
  assert.equal(pitchOf(solo, 5, 7), 71); // its nut is at the fifth fret
});

test("another way differs where it sounds something else", () => {
  const standing = measure([pluck("0", 3, 2), pluck("1/2", 5, 0), pluck("1", 1, 0)]);
  const other = measure([pluck("0", 3, 2), pluck("1/2", 4, 0), pluck("1", 1, 2), pluck("3/2", 1, 0)]);

  assert.deepEqual(differing(standing, other).map((one) => one.at), ["1/2", "1", "3/2"]);
  assert.deepEqual(differing(standing, standing), []);
});
