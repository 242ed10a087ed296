import assert from "node:assert/strict";
import { test } from "node:test";

import { byTitle, found, tiersToCome } from "../../web_client/book_list.js";

const tune = (/** @type {string} */ title, key = "G major") => ({ id: `${title} ${key}`, title, key, meter: "4/4", measures: 16, study: false });
const titles = (/** @type {{title: string}[]} */ tunes) => tunes.map(({ title }) => title);

const BOOK = byTitle([tune("Mill Lane"), tune("Été sur l'eau"), tune("A Mill by the Water", "C major"), tune("Roll 10"), tune("Roll 9")]);

test("byTitle: by letter whatever the case and accent, and numbers by their size", () => {
  assert.deepEqual(titles(BOOK), ["A Mill by the Water", "Été sur l'eau", "Mill Lane", "Roll 9", "Roll 10"]);
  assert.deepEqual(byTitle([tune("reed"), tune("Reed", "C major")]).map(({ key }) => key), ["C major", "G major"]);
});

test("found: every word that was typed, in title or key", () => {
  assert.deepEqual(titles(found(BOOK, "ete")), ["Été sur l'eau"]);
  assert.deepEqual(titles(found(BOOK, " MILL c ")), ["A Mill by the Water"]);
  assert.deepEqual(titles(found(BOOK, "mill x")), []);
});

test("found: a title that begins so comes first, the others keep their order", () => {
  assert.deepEqual(titles(found(BOOK, "mill")), ["Mill Lane", "A Mill by the Water"]);
});

test("found: nothing, where nothing was typed", () => {
  assert.deepEqual(found(BOOK, "  "), []);
});

test("tiersToCome: those without a solo, while something is waited for", () => {
  const solos = { beginner: "a" };

  assert.deepEqual(tiersToCome({ waiting: "Writing …", solos }, false), ["intermediate", "advanced"]);
  assert.deepEqual(tiersToCome({ waiting: "", solos }, false), []);
  assert.deepEqual(tiersToCome({ waiting: "Writing …", solos }, true), []);
  assert.deepEqual(tiersToCome({ waiting: "Writing …", solos: { ...solos, intermediate: "b", advanced: "c" } }, false), []);
});
