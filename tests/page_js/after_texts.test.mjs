import assert from "node:assert/strict";
import { test } from "node:test";

import { TEXT } from "../../web_client/english.js";

const { after } = TEXT;
const PLUCK = { string: 3, fret: 2, pitch: 57 };

/** @returns {any} */
const moment = (more = {}) => ({ kind: "late", measure: 3, at: 0.5, key: "m3e2", count: 1, last: 3, off: 44.6, pitch: 57, string: 3, pluck: PLUCK, ...more });

test("a moment's place, and of notes in a row where they begin", () => {
  const measure = { number: 3, meter: "4/4", length: "4" };

  assert.equal(after.where(moment(), measure), "Measure 3, the and of beat 1");
  assert.equal(after.where(moment({ count: 4 }), measure), "Measure 3, from the and of beat 1");
  assert.equal(after.where(moment({ count: 9, last: 4 }), measure), "Measures 3 to 4, from the and of beat 1");
});

test("what a moment was", () => {
  assert.equal(after.what(moment()), "late by 45 ms");
  assert.equal(after.what(moment({ kind: "early", off: 0 })), "early");
  assert.equal(after.what(moment({ kind: "missed" })), "missed, on string 3");
  assert.equal(after.what(moment({ kind: "missed", count: 2 })), "2 notes missed");
  assert.equal(after.what(moment({ kind: "wrong note", pitch: 58 })), "B♭ in place of A");
  assert.equal(after.what(moment({ kind: "wrong note", pitch: 69 })), "A in another octave");
  assert.equal(after.what(moment({ kind: "other string", string: 4 })), "on string 4, not 3");
  assert.equal(after.what(moment({ kind: "extra", pitch: 61, pluck: null })), "C♯, which is not written");
});

test("the roll in a sentence: the earliest and the latest, either alone, or neither", () => {
  const named = (/** @type {number} */ slot) => after.rollNote(slot, slot === 4 ? "&" : "·");
  const [early, late] = [{ slot: 4, offset_ms: -12.4 }, { slot: 6, offset_ms: 9 }];

  assert.equal(after.roll({ early, late }, named), "Note 4 (&) comes earliest, by 12 ms; note 6 latest, by 9 ms.");
  assert.equal(after.roll({ early, late: null }, named), "Note 4 (&) comes earliest, by 12 ms.");
  assert.equal(after.roll({ early: null, late }, named), "Note 6 comes latest, by 9 ms.");
  assert.equal(after.roll({ early: null, late: null }, named), "The notes of the roll follow each other evenly.");
});

test("the player's own time is told where it is not that of the click", () => {
  assert.equal(after.lean(4.9), "");
  assert.equal(after.lean(-4.9), "");
  assert.match(after.lean(5), /5 ms behind the click/);
  assert.match(after.lean(-31.6), /32 ms ahead of the click/);
});
