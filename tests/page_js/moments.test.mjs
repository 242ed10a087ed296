import assert from "node:assert/strict";
import { test } from "node:test";

import { MOST_MOMENTS, counted, extraKey, lastPass, momentsOf } from "../../web_client/moments.js";

/** A solo of eight plucks a measure; the first and fifth are the melody's. */
function solo(/** @type {number} */ measures) {
  return {
    measures: Array.from({ length: measures }, (_, index) => ({
      number: index + 1,
      plucks: Array.from({ length: 8 }, (_, slot) => ({
        id: `m${index + 1}e${slot + 1}`,
        at: slot % 2 === 0 ? String(slot / 2) : `${slot}/2`,
        string: 3,
        fret: 0,
        pitch: 55,
        role: slot % 4 === 0 ? "melody" : "fill",
      })),
    })),
  };
}

/** A pass through it, in time but where something else is told by id. */
function pass(/** @type {any} */ arrangement, /** @type {Record<string, any>} */ told, more = {}) {
  const notes = arrangement.measures.flatMap((/** @type {any} */ measure) =>
    measure.plucks.map(({ id, pitch, string }) => ({
      id,
      measure: measure.number,
      pass: 1,
      verdict: "on time",
      offset_ms: 1,
      pitch,
      string,
      ...(told[id] === "missed" ? { verdict: "missed", offset_ms: null, pitch: null, string: null } : told[id]),
    })),
  );
  return { lean: 0, whole: true, notes, extras: [], positions: [], said: [], ...more };
}

const late = (/** @type {number} */ offset_ms) => ({ verdict: "late", offset_ms });

test("momentsOf: faults in the order in which they were played, each with its place", () => {
  const own = solo(4);
  const found = momentsOf(pass(own, { m3e2: late(90), m1e4: "missed" }), own);

  assert.deepEqual(found.map(({ kind, measure, at, key }) => [kind, measure, at, key]), [
    ["missed", 1, 1.5, "m1e4"],
    ["late", 3, 0.5, "m3e2"],
  ]);
  assert.equal(found[1].off, 90);
  assert.deepEqual(momentsOf(pass(own, {}), own), []);
});

test("momentsOf: only the gravest, and the same number of them at the limit", () => {
  const own = solo(20);
  const each = (/** @type {number} */ count) =>
    Object.fromEntries(Array.from({ length: count }, (_, index) => [`m${index + 1}e2`, late(50 + index)]));

  assert.equal(momentsOf(pass(own, each(MOST_MOMENTS)), own).length, MOST_MOMENTS);
  const found = momentsOf(pass(own, each(MOST_MOMENTS + 3)), own);
  assert.deepEqual(found.map(({ measure }) => measure), [4, 5, 6, 7, 8, 9, 10, 11]);
});

test("momentsOf: early and late go by the player's own time", () => {
  const own = solo(1);
  const found = momentsOf(pass(own, { m1e2: { verdict: "early", offset_ms: -20 } }, { lean: 30 }), own);

  assert.deepEqual(found.map(({ kind, off }) => [kind, off]), [["early", 50]]);
});

test("momentsOf: notes missed in a row are one moment, and weigh more than one", () => {
  const own = solo(3);
  const told = { m1e7: "missed", m1e8: "missed", m2e1: "missed", m3e3: "missed" };
  const found = momentsOf(pass(own, told), own);

  assert.deepEqual(found.map(({ key, count, last }) => [key, count, last]), [["m1e7", 3, 2], ["m3e3", 1, 3]]);
  assert.deepEqual(momentsOf(pass(own, told), own, 1).map(({ key }) => key), ["m1e7"]);
});

test("momentsOf: a melody note goes before one of the fill", () => {
  const own = solo(2);

  assert.deepEqual(momentsOf(pass(own, { m1e2: "missed", m2e5: "missed" }), own, 1).map(({ key }) => key), ["m2e5"]);
});

test("momentsOf: what the stop cut off is no fault, but what was missed before it is", () => {
  const own = solo(3);
  const cut = Object.fromEntries(own.measures.flatMap(({ plucks }) => plucks.map(({ id }) => [id, "missed"])).slice(12));
  const told = { m1e3: "missed", ...cut };

  assert.deepEqual(momentsOf(pass(own, told, { whole: false }), own).map(({ key }) => key), ["m1e3"]);
  assert.deepEqual(momentsOf(pass(own, told), own).map(({ key }) => key), ["m1e3", "m2e5"]);
  const silent = Object.fromEntries(own.measures.flatMap(({ plucks }) => plucks.map(({ id }) => [id, "missed"])));
  assert.deepEqual(momentsOf(pass(own, silent, { whole: false }), own), []);
});

test("momentsOf: an extra note that did harm has the name of its mark; one that did none is passed over", () => {
  const own = solo(2);
  const extras = [
    { measure: 2, pass: 1, at: "3/2", pitch: 61, string: null, fault: true },
    { measure: 1, pass: 1, at: "1", pitch: 62, string: 1, fault: false },
  ];
  const [found, ...others] = momentsOf(pass(own, {}, { extras }), own);

  assert.deepEqual(others, []);
  assert.deepEqual([found.kind, found.measure, found.at, found.key], ["extra", 2, 1.5, extraKey(extras[0])]);
  assert.equal(found.key, "extra 2 3/2 61 null");
});

test("lastPass: the last one of the solo, whatever stands around it", () => {
  const report = (/** @type {string} */ digest, /** @type {number[]} */ ...numbers) => ({
    digest,
    lean_ms: numbers[0],
    notes: numbers.map((number) => ({ id: `of ${number}`, pass: number })),
    extra: [],
    passes: numbers.map((number) => ({ pass: number, whole: number !== 3, measures: "1-8" })),
    playing: numbers.map((number) => ({ pass: number, positions: [{ slot: number, offset_ms: 1 }] })),
    said: [],
  });
  /** @type {any} */
  const file = [report("a", 4), report("b", 2, 5), report("a", 1, 3)];

  assert.deepEqual(lastPass(file, "a")?.notes.map(({ id }) => id), ["of 4"]);
  assert.deepEqual(lastPass(file, "b")?.positions, [{ slot: 5, offset_ms: 1 }]);
  assert.equal(lastPass(file[2], "a")?.whole, false);
  assert.equal(lastPass(file, "c"), null);
});

test("counted: a place as it is counted aloud", () => {
  const measure = (/** @type {string} */ meter, length = "4", number = 3) => ({ number, meter, length });

  assert.equal(counted(measure("4/4"), 0), "beat 1");
  assert.equal(counted(measure("4/4"), 1.5), "the and of beat 2");
  assert.equal(counted(measure("2/2"), 0.5), "the e of beat 1");
  assert.equal(counted(measure("6/8", "3"), 1.5), "beat 2");
  assert.equal(counted(measure("6/8", "3"), 2), "the second part of beat 2");
  assert.equal(counted(measure("4/4", "1", 0), 0.5), "the and of beat 4");
  assert.equal(counted(measure("4/4", "3", 5), 0), "beat 1");
  assert.equal(counted(measure("4/4"), 1.4), "just after beat 2");
});
