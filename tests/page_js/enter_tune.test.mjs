import assert from "node:assert/strict";
import { test } from "node:test";

import { nameOf, signatureOf, spelled, tonicsOf } from "../../web_client/abc_names.js";
import { abcOf, fileName, musicOf, wordsOf } from "../../web_client/abc_tune.js";
import {
  EMPTY, LENGTHS, MOST_NOTES, chordAt, harmonised, heldOn, inserted, lengthOf, measureOf, placeOf, readDraft, removed,
  replaced, startsOf, syllablesOf, usualChords,
} from "../../web_client/enter_tune.js";

const note = (pitch, length, more = {}) => ({
  pitch, length, triplet: false, tied: false, string: null, fret: null, ...more,
});
const with_ = (notes, more = {}) => ({ ...EMPTY, ...more, notes });

test("a dot makes a length half as long again, a triplet puts three in the time of two", () => {
  assert.equal(lengthOf(48, { dotted: true, triplet: false }), 72);
  assert.equal(3 * lengthOf(24, { dotted: false, triplet: true }), 2 * 24);
  for (const plain of LENGTHS) {
    assert.ok(Number.isInteger(lengthOf(plain, { dotted: true, triplet: false })));
    assert.ok(Number.isInteger(lengthOf(plain, { dotted: false, triplet: true })));
  }
});

test("a pickup stands at the end of measure 0", () => {
  const draft = with_([], { meter: "3/4", pickup: 48 });

  assert.deepEqual(placeOf(draft, 0), { measure: 0, within: 96 });
  assert.deepEqual(placeOf(draft, 48), { measure: 1, within: 0 });
  assert.deepEqual(placeOf(with_([]), 0), { measure: 1, within: 0 });
  assert.equal(measureOf("6/8"), 144);
});

test("what stands behind a note that comes, goes or changes moves along with its chords", () => {
  const draft = harmonised(harmonised(with_([note(60, 48), note(62, 48)]), 0, "G"), 48, "C");

  assert.deepEqual(inserted(draft, 1, note(64, 24)).chords, { 0: "G", 72: "C" });
  assert.deepEqual(inserted(draft, 2, note(64, 24)).chords, { 0: "G", 48: "C" });
  assert.deepEqual(replaced(draft, 0, { length: 96 }).chords, { 0: "G", 96: "C" });
  assert.deepEqual(removed(draft, 0).chords, { 0: "C" });
  assert.deepEqual(removed(draft, 1).chords, { 0: "G" });
});

test("a note that is held on is tied, and the tie goes with either note", () => {
  const held = heldOn(with_([note(60, 48), note(62, 48)]), 0, { length: 24, triplet: false });

  assert.deepEqual(held.notes.map(({ pitch, length, tied }) => [pitch, length, tied]), [
    [60, 48, true], [60, 24, false], [62, 48, false],
  ]);
  assert.deepEqual(removed(held, 1).notes.map(({ tied }) => tied), [false, false]);
  assert.deepEqual(replaced(held, 1, { pitch: 64 }).notes.map(({ tied }) => tied), [false, false, false]);
});

test("no more notes go in than have room", () => {
  const full = with_(Array(MOST_NOTES).fill(note(60, 24)));

  assert.equal(inserted(full, 0, note(62, 24)), full);
  assert.equal(heldOn(full, 0, { length: 24, triplet: false }), full);
});

test("a chord holds until the next", () => {
  const draft = harmonised(harmonised(with_([note(60, 192)]), 48, "G"), 96, "D7");

  assert.deepEqual([0, 48, 95, 96, 500].map((tick) => chordAt(draft, tick)), ["", "G", "G", "D7", "D7"]);
  assert.equal(chordAt(harmonised(draft, 96, ""), 96), "G");
});

test("words are laid by syllables", () => {
  assert.deepEqual(syllablesOf(" Down by the ri-ver * bends "), ["Down", "by", "the", "ri-", "ver", null, "bends"]);
  assert.deepEqual(syllablesOf('"Oh" my_my | a~b'), ["Oh", "mymy", "ab"]);
  assert.deepEqual(syllablesOf("  "), []);
});

test("a draft is the same after it was kept, and what was not kept here is none", () => {
  const draft = harmonised(with_([note(60, 48, { string: 2, fret: 1 })], { title: "Lane", pickup: 48, words: "La" }), 0, "C");
  const kept = JSON.parse(JSON.stringify(draft));

  assert.deepEqual(readDraft(JSON.stringify(draft)), draft);
  for (const change of [
    { tonic: "H" }, { mode: "constructor" }, { meter: "7/4" }, { pickup: 192 }, { pickup: -1 }, { tempo: 5 }, { title: 3 },
    { notes: [{ ...kept.notes[0], length: 0 }] }, { notes: [null] }, { notes: "" }, { chords: { 0: 7 } }, { chords: null },
  ]) {
    assert.equal(readDraft(JSON.stringify({ ...kept, ...change })), EMPTY, JSON.stringify(change));
  }
  assert.deepEqual([readDraft(null), readDraft("{"), readDraft("null")], [EMPTY, EMPTY, EMPTY]);
});

test("keys have the signatures of music theory, and their notes its names", () => {
  const sharps = { G: 1, D: 2, A: 3, E: 4, F: -1, Bb: -2, Eb: -3, "F#": 6 };
  for (const [tonic, count] of Object.entries(sharps)) {
    assert.equal(signatureOf({ tonic, mode: "major" }), count);
  }
  assert.equal(signatureOf({ tonic: "A", mode: "minor" }), 0);
  assert.equal(signatureOf({ tonic: "D", mode: "dorian" }), 0);
  assert.equal(signatureOf({ tonic: "G", mode: "mixolydian" }), 0);
  const names = (tonic, mode) => [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11].map((pc) => nameOf({ tonic, mode }, pc));
  assert.deepEqual(names("G", "major"), ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]);
  assert.deepEqual(names("A", "minor"), ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "Bb", "B"]);
});

test("every key that can be chosen names every note, with one sign at most", () => {
  for (const mode of ["major", "minor", "dorian", "mixolydian"]) {
    assert.ok(tonicsOf(mode).length >= 12, mode);
    for (const tonic of tonicsOf(mode)) {
      for (let pc = 0; pc < 12; pc += 1) {
        assert.ok(Math.abs(spelled({ tonic, mode }, pc).sign) <= 1);
      }
    }
  }
});

test("the chords at hand are those of the key", () => {
  const spell = (draft) => (pc) => nameOf(draft, pc);

  assert.deepEqual(usualChords(EMPTY, spell(EMPTY)).slice(0, 5), ["G", "C", "D", "D7", "Em"]);
  const minor = { ...EMPTY, tonic: "A", mode: "minor" };
  assert.deepEqual(usualChords(minor, spell(minor)).slice(0, 3), ["Am", "Dm", "E7"]);
});

test("a tune with a pickup, a chord in a held note, a tie over the barline and a triplet, as ABC", () => {
  const three = { triplet: true };
  const notes = [
    note(62, 48), note(67, 144), note(66, 96), note(62, 16, three), note(64, 16, three), note(66, 16, three), note(null, 24),
    note(70, 24),
  ];
  const draft = { ...with_(notes, { title: "Lane", pickup: 48, words: "Oh down the ri-ver bank a-way" }), chords: { 48: "G", 144: "D7" } };

  assert.equal(
    abcOf(draft, "x"),
    "%abc-2.1\nX:1\nT:Lane\nM:4/4\nL:1/8\nQ:1/4=100\nK:Gmaj\n" +
      'D2 | "G"G4- "D7"G2 F2- | F2 (3DEF z_B |]\nw:Oh down * the * ri-ver bank a-\n',
  );
});

test("lengths that no sign has are written with two", () => {
  assert.equal(musicOf(with_([note(67, 120), note(null, 72)])), "G4- Gz3 |]");
  assert.equal(musicOf(with_([note(67, 192 + 48), note(69, 144)])), "G8- | G2 A6 |]");
});

test("an accidental is written wherever one of two ways to read ABC would have it otherwise", () => {
  // F# of the key, F natural low, then F high: by some it is natural there too, so it is told.
  assert.equal(musicOf(with_([note(53, 48), note(66, 48), note(66, 48), note(78, 48)])), "=F,2 ^F2 F2 f2 |]");
  assert.equal(musicOf(with_([note(65, 192), note(66, 192)])), "=F8 | F8 |]");
});

test("words that begin with a number are not taken for the number of a verse", () => {
  assert.equal(wordsOf(with_([note(60, 48), note(60, 48)], { words: "99 geese" })), "~99 geese");
});

test("an empty draft has no music, and a title that says nothing gives a plain name", () => {
  assert.equal(musicOf(EMPTY), "");
  assert.equal(fileName({ ...EMPTY, title: "Der Mühle Bach!" }, "x"), "der-mühle-bach.abc");
  assert.equal(fileName({ ...EMPTY, title: " %% " }, "A tune"), "a-tune.abc");
  assert.ok(abcOf({ ...EMPTY, title: "a\nK:C % b" }, "x").includes("\nT:a K:C b\n"));
});
