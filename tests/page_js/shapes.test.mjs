import assert from "node:assert/strict";
import { test } from "node:test";

import { PAD_KEYS, TRANSPORT_KEYS } from "../../web_client/keyboard.js";
import { placesOf } from "../../web_client/neck.js";
import {
  LONGEST_NAME, MOST_SHAPES, SHAPE_KEYS, chordsOf, cleanName, fromService, keptShapes, keptText, shapeLetter,
} from "../../web_client/shapes.js";

const OPEN_G = { 1: 62, 2: 59, 3: 55, 4: 50, 5: 67 };
const DOUBLE_C = { 1: 62, 2: 60, 3: 55, 4: 48, 5: 67 };
const F_UP = { 1: 7, 2: 5, 3: 6, 4: 7, 5: 0 };

test("a shape of the service has its frets from string 4 to string 1, and the drone rings open", () => {
  const { frets } = fromService({ chord: "C", frets: [2, 0, 1, null] });

  assert.deepEqual(frets, { 1: null, 2: 1, 3: 0, 4: 2, 5: 0 });
});

test("the chords of a solo that come most often come first", () => {
  const measure = (...symbols) => ({ chords: symbols.map((symbol) => ({ symbol })) });
  const measures = [measure("C"), measure("G", "D7"), measure("G"), measure("D7"), measure("G")];

  assert.deepEqual(chordsOf({ measures }), ["G", "D7", "C"]);
});

test("a shape that was kept is there again in its own tuning, and only there", () => {
  const text = keptText(null, OPEN_G, "F up", F_UP);

  assert.deepEqual(keptShapes(text, OPEN_G), [{ name: "F up", frets: F_UP, own: true }]);
  assert.deepEqual(keptShapes(text, DOUBLE_C), []);
});

test("a shape of the same name takes the place of the one before, and one that is forgotten is gone", () => {
  const other = { ...F_UP, 5: 7 };
  const twice = keptText(keptText(keptText(null, OPEN_G, "F", F_UP), DOUBLE_C, "F", F_UP), OPEN_G, "F", other);

  assert.deepEqual(keptShapes(twice, OPEN_G).map(({ frets }) => frets), [other]);
  assert.equal(keptShapes(twice, DOUBLE_C).length, 1);
  assert.deepEqual(keptShapes(keptText(twice, OPEN_G, "F", null), OPEN_G), []);
});

test("what was not written here is passed over", () => {
  const good = JSON.parse(keptText(null, OPEN_G, "good", F_UP))[0];
  const bad = [
    null,
    { ...good, name: "" },
    { ...good, strings: {} },
    { ...good, frets: { ...F_UP, 5: 3 } },
    { ...good, frets: { ...F_UP, 1: 13 } },
    { ...good, frets: { ...F_UP, 1: "7" } },
  ];

  assert.deepEqual(keptShapes(JSON.stringify([...bad, good]), OPEN_G).map(({ name }) => name), ["good"]);
  assert.deepEqual([keptShapes("{", OPEN_G), keptShapes("{}", OPEN_G), keptShapes(null, OPEN_G)], [[], [], []]);
});

test("so many shapes are kept and no more, the oldest is let go", () => {
  let text = null;
  for (let count = 1; count <= MOST_SHAPES + 1; count += 1) {
    text = keptText(text, OPEN_G, `shape ${count}`, F_UP);
  }

  const names = keptShapes(text, OPEN_G).map(({ name }) => name);
  assert.equal(names.length, MOST_SHAPES);
  assert.equal(names[0], "shape 2");
});

test("a name is on one line and not too long", () => {
  assert.equal(cleanName("  F  up\nthe neck "), "F up the neck");
  assert.equal(cleanName("x".repeat(99)).length, LONGEST_NAME);
  assert.equal(cleanName(" \n"), "");
});

test("the keys of shapes are keys of nothing else", () => {
  assert.ok(SHAPE_KEYS.every((code) => !PAD_KEYS.has(code) && !(code in TRANSPORT_KEYS)));
  assert.deepEqual([0, 4, 8].map(shapeLetter), ["7", "U", ""]);
});

test("a pitch is found at its lowest fret first", () => {
  // Open G: D4 is string 1 open, string 2 at 3, string 3 at 7, string 4 at 12 (semitones by equal temperament).
  assert.deepEqual(placesOf(OPEN_G, 0, 62), [
    { string: 1, fret: 0 }, { string: 2, fret: 3 }, { string: 3, fret: 7 }, { string: 4, fret: 12 },
  ]);
  assert.deepEqual(placesOf(OPEN_G, 0, 49), []);
  assert.deepEqual(placesOf(OPEN_G, 2, 69)[0], { string: 5, fret: 0 });
});
