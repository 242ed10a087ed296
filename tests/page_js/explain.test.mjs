import assert from "node:assert/strict";
import { test } from "node:test";

import { Explanations, about, sentencesOf } from "../../web_client/explain.js";
import { signsOf } from "../../web_client/edit_signs.js";

const all = [
  { number: 1, sentences: [{ text: "A roll.", plucks: ["m1e1", "m1e2"] }, { text: "A slide.", plucks: ["m1e2"] }], difficulty: 2, largest: "slurs" },
  { number: 9, same_as: 1, sentences: [{ text: "As measure 1.", plucks: [] }], difficulty: 2, largest: "slurs" },
];
const answer = { json: async () => ({ measures: all }) };

test("a measure says its own sentences, and which are about a pluck", () => {
  const said = sentencesOf(all, 1);

  assert.deepEqual(about(said, "m1e1"), ["A roll."]);
  assert.deepEqual(about(said, "m1e2"), ["A roll.", "A slide."]);
  assert.deepEqual(sentencesOf(all, 2), []);
});

test("one that repeats another says what that one says, of its own plucks", () => {
  const said = sentencesOf(all, 9);

  assert.deepEqual(said.map(({ text }) => text), ["As measure 1.", "A roll.", "A slide."]);
  assert.deepEqual(about(said, "m9e2"), ["A roll.", "A slide."]);
  assert.deepEqual(about(said, "m1e2"), []);
});

test("an explanation is fetched once for each solo, and again where it failed", async () => {
  const urls = [];
  let failing = false;
  const explanations = new Explanations(async (url) => {
    urls.push(url);
    if (failing) {
      throw new Error("busy");
    }
    return answer;
  });

  assert.equal(await explanations.of("a"), await explanations.of("a"));
  assert.deepEqual(urls, ["arrangements/a.explain.json"]);
  failing = true;
  await assert.rejects(explanations.of("b"), /busy/);
  failing = false;
  assert.equal((await explanations.of("b")).length, 2);
  assert.equal(urls.length, 3);
});

test("a measure that is locked and edited bears the pencil", () => {
  assert.deepEqual([...signsOf({ locked: [2, 3], edited: [3, 5] })], [[2, "locked"], [3, "edited"], [5, "edited"]]);
  assert.equal(signsOf(undefined).size, 0);
});
