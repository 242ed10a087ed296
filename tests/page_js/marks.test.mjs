import assert from "node:assert/strict";
import { test } from "node:test";

import { markOf, markOfExtra, playedWords, waver } from "../../web_client/marks.js";

const place = { x: 1000, y: 2000, size: 372, gap: 315, string: 2 };
const mark = (verdict, more = {}) =>
  markOf({ verdict, offset_ms: null, string: null, played: null, ...more }, place, "m1e1");

/** All x and y of a path, control points too; relative ones follow their start. */
function points(path) {
  const numbers = path.match(/-?\d+(\.\d+)?/g).map(Number);
  return { xs: numbers.filter((_, index) => index % 2 === 0), ys: numbers.filter((_, index) => index % 2 === 1) };
}

test("early is a stroke before the number", () => {
  const drawing = mark("early", { offset_ms: -50 });

  assert.equal(drawing.lines.length, 1);
  assert.ok(points(drawing.lines[0]).xs.every((x) => x < place.x - place.size / 4));
  assert.equal(drawing.text, undefined);
});

test("late is a stroke after the number", () => {
  assert.ok(points(mark("late", { offset_ms: 50 }).lines[0]).xs.every((x) => x > place.x + place.size / 4));
});

test("a stroke is taller the further off, within reason", () => {
  const height = (offset_ms) => {
    const { ys } = points(mark("late", { offset_ms }).lines[0]);
    return Math.max(...ys) - Math.min(...ys);
  };

  assert.ok(height(30) < height(60) && height(60) < height(100));
  assert.equal(height(200), height(290));
});

test("missed is a ring round the number", () => {
  const { xs, ys } = points(mark("missed").lines[0]);

  assert.ok(Math.min(...xs) < place.x - place.size / 2 && Math.max(...xs) > place.x + place.size / 2);
  assert.ok(Math.min(...ys) < place.y - place.size / 2 && Math.max(...ys) > place.y + place.size / 2);
  const far = xs.map((x, index) => Math.hypot(x - place.x, ys[index] - place.y));
  assert.ok(Math.min(...far) > place.size * 0.55, "the number stays free");
});

test("a wrong note has what was played, small and underlined, after the number", () => {
  const drawing = mark("wrong note", { string: 2, played: "3" });

  assert.equal(drawing.text.words, "3");
  assert.ok(drawing.text.x > place.x && drawing.text.size < place.size);
  assert.equal(drawing.lines.length, 1);
});

test("what was played on another string stands at that string's line, with a way to it", () => {
  const same = mark("other string", { string: 2, played: "0" });
  const other = mark("other string", { string: 4, played: "5" });

  assert.equal(other.text.y - same.text.y, 2 * place.gap);
  assert.equal(other.lines.length, 1);
});

test("a wrong note that cannot be told is a question mark", () => {
  assert.equal(mark("wrong note").text.words, "?");
});

test("on time leaves the paper as it is", () => {
  assert.equal(mark("on time"), null);
});

test("an extra note is a dot above the staff, hollow where it did no harm", () => {
  const [fault, harmless] = [true, false].map((fault) => markOfExtra({ x: 5, top: 100, size: 315, fault }));

  assert.ok(fault.dot.y < 100);
  assert.equal(fault.dot.hollow, false);
  assert.equal(harmless.dot.hollow, true);
});

test("the same note always gets the same line, another note another", () => {
  assert.deepEqual(mark("missed"), mark("missed"));
  assert.notDeepEqual(mark("missed").lines, markOf({ verdict: "missed" }, place, "m1e2").lines);
});

test("deviations stay within one", () => {
  for (let turn = 0; turn < 500; turn += 1) {
    assert.ok(Math.abs(waver(`m${turn}e1`, turn)) <= 1);
  }
});

test("what was played is told by fret, else by the name of the pitch", () => {
  assert.equal(playedWords({ fret: 0, pitch: 55 }), "0");
  assert.equal(playedWords({ fret: null, pitch: 58 }), "B♭");
  assert.equal(playedWords({ fret: null, pitch: null }), null);
});

test("a small fret is written no smaller than can be read", () => {
  const written = (least) => markOf({ verdict: "wrong note", offset_ms: 1, string: 2, played: "3" }, { ...place, least }, "m1e1").text.size;

  assert.deepEqual([written(0), written(400)], [372 * 0.85, 400]);
});
