import assert from "node:assert/strict";
import { test } from "node:test";

import { countedMeasures, piecesOf } from "../../web_client/after_links.js";

const KNOWN = new Set([1, 2, 3, 4, 5, 6, 7, 8, 9]);

test("piecesOf: a measure that is named leads there, the rest stays as it was", () => {
  assert.deepEqual(piecesOf("2 notes were missed, in measure 3.", KNOWN), [
    "2 notes were missed, in ",
    { words: "measure 3", measure: 3 },
    ".",
  ]);
});

test("piecesOf: of a list each number leads to its own", () => {
  const pieces = piecesOf("Measures 2, 5 and 7 to 9 are clean.", KNOWN);

  assert.deepEqual(pieces.flatMap((piece) => (typeof piece === "string" ? [] : [piece.measure])), [2, 5, 7, 9]);
  const words = pieces.map((piece) => (typeof piece === "string" ? piece : piece.words)).join("");
  assert.equal(words, "Measures 2, 5 and 7 to 9 are clean.");
});

test("piecesOf: what is counted, or not there, leads nowhere", () => {
  for (const sentence of ["3 of 8 measures are clean.", "2 notes were early or late, in 2 of 6 measures.", "In measure 12."]) {
    assert.deepEqual(piecesOf(sentence, KNOWN).filter((piece) => typeof piece !== "string"), []);
  }
});

test("piecesOf: two measures in one sentence both lead somewhere", () => {
  const pieces = piecesOf("You stopped in measure 4 and came back in measure 6.", KNOWN);

  assert.deepEqual(pieces.flatMap((piece) => (typeof piece === "string" ? [] : [piece.measure])), [4, 6]);
});

test("piecesOf: measures that are only counted are named behind their number", () => {
  const words = (/** @type {string} */ sentence) =>
    piecesOf(sentence, KNOWN, [2, 5]).map((piece) => (typeof piece === "string" ? piece : `[${piece.measure}]`)).join("");

  assert.equal(words("Changes come late, in 2 of 6 measures: let go first."), "Changes come late, in 2 of 6 measures ([2], [5]): let go first.");
  assert.equal(words("A string is caught twice, in 2 measures."), "A string is caught twice, in 2 measures ([2], [5]).");
  assert.equal(words("The melody does not stand out."), "The melody does not stand out.");
});

test("countedMeasures: those of a sentence that counts them, unless they are all, or many, or named", () => {
  const said = (/** @type {string} */ text, /** @type {number[]} */ measures) => [{ pass: 1, text, measures }];

  assert.deepEqual(countedMeasures("Late, in 3 of 8 measures.", said("Late, in 3 of 8 measures.", [2, 5, 8]), 8), [2, 5, 8]);
  assert.deepEqual(countedMeasures("Late, in 3 of 3 measures.", said("Late, in 3 of 3 measures.", [2, 5, 8]), 3), []);
  assert.deepEqual(countedMeasures("Late, in measure 2.", said("Late, in measure 2.", [2]), 8), []);
  assert.equal(countedMeasures("Late.", said("Late.", [1, 2, 3, 4, 5, 6, 7, 8]), 10).length, 8);
  assert.deepEqual(countedMeasures("Late.", said("Late.", [1, 2, 3, 4, 5, 6, 7, 8, 9]), 10), []);
  assert.deepEqual(countedMeasures("Of something else.", said("Late.", [2]), 8), []);
});

test("countedMeasures: asked twice, the answer is the same", () => {
  const sentence = "Late, in measure 2.";
  const said = [{ pass: 1, text: sentence, measures: [2] }];

  assert.deepEqual([countedMeasures(sentence, said, 8), countedMeasures(sentence, said, 8)], [[], []]);
});
