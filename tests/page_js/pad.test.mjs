import assert from "node:assert/strict";
import { test } from "node:test";

import { PAD_KEYS, TRANSPORT_KEYS, padLetter } from "../../web_client/keyboard.js";
import { fretAt, pitchAt } from "../../web_client/neck.js";
import { noteOn } from "../../web_client/pad.js";

// Open G: D4 B3 G3 D3 and the drone G4 (equal temperament, middle C = C4 = 60).
const OPEN_G = { 1: 62, 2: 59, 3: 55, 4: 50, 5: 67 };

test("a fret is a semitone, counted from the capo", () => {
  assert.equal(pitchAt(OPEN_G, 0, 3, 0), 55);
  assert.equal(pitchAt(OPEN_G, 2, 4, 5), 57);
});

test("the fifth string begins at its fifth fret", () => {
  assert.deepEqual([0, 6, 12].map((fret) => pitchAt(OPEN_G, 0, 5, fret)), [67, 68, 74]);
});

test("the same pitch lies in the places that the neck has for it", () => {
  assert.equal(pitchAt(OPEN_G, 0, 4, 5), pitchAt(OPEN_G, 0, 3, 0));
  assert.equal(pitchAt(OPEN_G, 0, 1, 5), pitchAt(OPEN_G, 0, 5, 0));
});

test("string n speaks on channel n", () => {
  assert.deepEqual([1, 2, 3, 4, 5].map((string) => noteOn(string, 60)[0]), [0x90, 0x91, 0x92, 0x93, 0x94]);
});

test("every key of the pad has one place, and none is a key of the transport", () => {
  const places = [...PAD_KEYS.values()].map(({ string, fret }) => `${string} ${fret}`);

  assert.equal(new Set(places).size, PAD_KEYS.size);
  assert.ok(![...PAD_KEYS.keys()].some((code) => code in TRANSPORT_KEYS));
});

test("frets 0 to 5 of the long strings and the open drone have keys", () => {
  for (const string of [1, 2, 3, 4]) {
    assert.ok([0, 1, 2, 3, 4, 5].every((fret) => padLetter(string, fret) !== ""));
  }
  assert.equal(padLetter(5, 0), "M");
  assert.equal(padLetter(5, 6), "");
});

test("the fret of a pitch is the place that has it", () => {
  for (const capo of [0, 2]) {
    for (const [string, fret] of [[1, 0], [2, 3], [3, 12], [4, 5], [5, 0], [5, 6], [5, 12]]) {
      assert.equal(fretAt(OPEN_G, capo, string, pitchAt(OPEN_G, capo, string, fret)), fret);
    }
  }
  assert.equal(fretAt(OPEN_G, 0, 1, 61), null);
});
