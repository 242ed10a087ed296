import assert from "node:assert/strict";
import { test } from "node:test";

import { drawingOf, placeOn, signOf } from "../../web_client/enter_drawing.js";
import { EMPTY } from "../../web_client/enter_tune.js";

const OPEN_G = { 1: 62, 2: 59, 3: 55, 4: 50, 5: 67 };
const note = (pitch, length, more = {}) => ({
  pitch, length, triplet: false, tied: false, string: null, fret: null, ...more,
});
const with_ = (notes, more = {}) => ({ ...EMPTY, notes, ...more });

test("a length has the stem, flags and dots of its written value", () => {
  assert.deepEqual(signOf(192, false), { stem: "none", flags: 0, dots: 0 });
  assert.deepEqual(signOf(144, false), { stem: "half", flags: 0, dots: 1 });
  assert.deepEqual(signOf(24, false), { stem: "full", flags: 1, dots: 0 });
  assert.deepEqual(signOf(12, false), { stem: "full", flags: 2, dots: 0 });
  assert.deepEqual(signOf(16, true), { stem: "full", flags: 1, dots: 0 });
  assert.deepEqual(signOf(5, false), { stem: "full", flags: 2, dots: 0 });
});

test("a note lies where it was played, or where its pitch is lowest on the neck", () => {
  assert.deepEqual(placeOn(note(55, 48, { string: 4, fret: 5 }), OPEN_G), { string: 4, fret: 5 });
  assert.deepEqual(placeOn(note(55, 48, { string: 4, fret: 4 }), OPEN_G), { string: 3, fret: 0 });
  assert.deepEqual(placeOn(note(60, 48), OPEN_G), { string: 2, fret: 1 });
  assert.equal(placeOn(note(40, 48), OPEN_G), null);
  assert.equal(placeOn(note(null, 48), OPEN_G), null);
});

test("a note over the barline is two signs, tied, and its word stands once", () => {
  const { signs, bars } = drawingOf(with_([note(62, 240)], { words: "oh" }), OPEN_G, 800);

  assert.equal(bars.length, 1);
  assert.deepEqual(signs.map(({ tied, held, word, cut }) => [tied, held, word, cut]), [
    [true, false, "oh", false], [false, true, "", true],
  ]);
  assert.ok(signs[0].x < bars[0].x && bars[0].x < signs[1].x);
});

test("measures are numbered from 0 where there is a pickup", () => {
  const numbers = (draft) => drawingOf(draft, OPEN_G, 800).numbers.map(({ number }) => number);

  assert.deepEqual(numbers(with_([note(62, 48), note(62, 192)], { pickup: 48 })), [0, 1, 2]);
  assert.deepEqual(numbers(with_([note(62, 48), note(62, 192)])), [1, 2]);
  assert.deepEqual(numbers(EMPTY), [1]);
});

test("what has no room stands in the next line, measure by measure, chords and all", () => {
  const notes = Array(40).fill(note(59, 48, { string: 2, fret: 0 }));
  const draft = with_(notes, { chords: { 0: "G", 720: "C" } });
  const { signs, rows, bars, chords, ends, numbers } = drawingOf(draft, OPEN_G, 360);

  assert.ok(rows >= 4, `${rows}`);
  for (const sign of signs) {
    assert.ok(sign.x > 0 && sign.x + sign.width / 2 <= 360, `${sign.x}`);
  }
  for (let measure = 0; measure < 10; measure += 1) {
    assert.equal(new Set(signs.slice(4 * measure, 4 * measure + 4).map(({ row }) => row)).size, 1);
  }
  assert.ok(bars.every(({ x }) => x <= 366));
  assert.equal(chords.find(({ name }) => name === "C").row, signs[15].row);
  assert.equal(ends.length, rows);
  assert.equal(numbers.length, 11);
  assert.ok(numbers.every(({ x }) => x >= 0));
});

test("signs of a line never stand on one another", () => {
  const notes = [192, 12, 12, 24, 144, 36, 12, 48, 96].map((length) => note(60, length));
  const { signs } = drawingOf(with_(notes, { words: "a ve-ry-long word in-deed yes" }), OPEN_G, 500);

  for (const [index, sign] of signs.entries()) {
    const before = signs[index - 1];
    assert.ok(index === 0 || before.row < sign.row || before.x + before.width / 2 <= sign.x - sign.width / 2 + 1e-9);
  }
});

test("the cursor stands behind all that is written", () => {
  const { cursor, signs, rows } = drawingOf(with_([note(60, 48), note(62, 48)]), OPEN_G, 500);

  assert.ok(cursor.x > signs[1].x && cursor.row === 0 && rows === 1);
});
