import assert from "node:assert/strict";
import { test } from "node:test";

import { smallTab } from "../../web_client/edit_drawing.js";

const pluck = (at, string, fret, more = {}) => ({
  id: `m1e${at}`, at, length: "1/2", string, fret, pitch: 60, finger: "T", role: "fill", technique: "pick", ...more,
});
const measure = {
  number: 1, source_measure: 1, meter: "2/4", length: "2", tier: "advanced",
  chords: [{ at: "0", symbol: "G" }, { at: "1", symbol: "D7" }],
  melody: [
    { at: "0", length: "1", pitch: 57, lyric: "rain", kept: true, pluck: "m1e0" },
    { at: "1", length: "1", pitch: 57, lyric: "fell", kept: false, pluck: null },
  ],
  plucks: [
    pluck("0", 3, 2, { role: "melody", finger: "I" }),
    pluck("1/4", 3, 0, { technique: "pull-off", finger: null, from_fret: 2 }),
    pluck("1", 5, 0),
    pluck("1", 1, 0, { finger: "M" }),
    pluck("3/2", 4, 12),
  ],
};
const at = ["0", "1/4", "1/2", "1", "3/2"];
const tab = (more = {}) => smallTab(measure, at, { width: 288, gap: 14, ...more });
const xs = (letters) => letters.map((letter) => letter.x);

test("strings stand one below the other, the first on top, and numbers on their string and position", () => {
  const { lines, columns, numbers } = tab();

  assert.equal(lines.length, 5);
  assert.ok(lines.every((y, string) => string === 0 || Math.abs(y - lines[string - 1] - 14) < 1e-9));
  assert.deepEqual(numbers.map(({ words }) => words), ["2", "0", "0", "0", "12"]);
  assert.deepEqual(numbers.map(({ y }) => lines.indexOf(y) + 1), [3, 3, 5, 1, 4]);
  assert.deepEqual(xs(numbers), [0, 1, 3, 3, 4].map((index) => columns[index]));
});

test("fingers stand under their pluck, those of a pinch together, a slurred note has none", () => {
  const { fingers, columns, lines } = tab();

  assert.deepEqual(fingers.map(({ words }) => words), ["I", "TM", "T"]);
  assert.deepEqual(xs(fingers), [0, 3, 4].map((index) => columns[index]));
  assert.ok(fingers.every(({ y }) => y > lines[4]));
});

test("a wedge is over the melody, chords over it, and the words are below all", () => {
  const { wedges, chords, words, columns, lines, fingers, height } = tab();

  assert.equal(wedges.length, 1);
  const [x, y] = wedges[0].match(/-?\d+(\.\d+)?/g).map(Number);
  assert.ok(Math.abs(x + 4 - columns[0]) < 0.1 && y < lines[0]);
  assert.deepEqual(chords.map((chord) => [chord.words, chord.x]), [["G", columns[0]], ["D7", columns[3]]]);
  assert.ok(chords.every((chord) => chord.y < y));
  assert.deepEqual(words.map((word) => word.words), ["rain", "(fell)"]);
  assert.ok(words.every((word) => word.y > fingers[0].y && word.y < height));
});

test("the melody's number is told apart from the others", () => {
  assert.deepEqual(tab().numbers.map(({ melody }) => melody), [true, false, false, false, false]);
});

test("a slur goes from the note before it on its string, with its letter", () => {
  const { slurs, slurLetters, columns } = tab();
  const [left, , , , right] = slurs[0].match(/-?\d+(\.\d+)?/g).map(Number);

  assert.equal(slurs.length, 1);
  assert.deepEqual(slurLetters.map(({ words }) => words), ["p"]);
  assert.ok(columns[0] < left && left < right && right < columns[1]);
});

test("a slur goes over what other strings sound meanwhile", () => {
  const over = { ...measure, plucks: [measure.plucks[0], pluck("1/4", 1, 0), pluck("1/2", 3, 0, { technique: "slide", finger: null })] };
  const { slurs, columns } = smallTab(over, at, { width: 288, gap: 14 });

  assert.equal(Number(slurs[0].match(/\d+(\.\d+)?/)[0]), Math.round((columns[0] + 2) * 10) / 10);
});

test("a slur from a note before the barline begins a little before", () => {
  const lonely = { ...measure, plucks: [pluck("1/2", 4, 2, { technique: "slide", finger: null, from_fret: 0 })] };
  const { slurs, columns } = smallTab(lonely, at, { width: 288, gap: 14 });

  assert.equal(slurs.length, 1);
  assert.ok(Number(slurs[0].match(/\d+(\.\d+)?/)[0]) < columns[2]);
});

test("plucks that differ stand on patches", () => {
  const { patches, numbers } = tab({ marked: [measure.plucks[4]] });

  assert.deepEqual(patches, [{ x: numbers[4].x, y: numbers[4].y }]);
  assert.deepEqual(numbers.map(({ marked }) => marked), [false, false, false, false, true]);
});

test("many positions widen the drawing, few fill the width that is wished for", () => {
  const many = Array.from({ length: 24 }, (_, index) => `${index}/12`);

  assert.equal(tab().width, 288);
  const wide = smallTab(measure, many, { width: 288, gap: 14 });
  assert.ok(wide.width > 24 * 20);
  assert.ok(wide.columns.every((x, index) => index === 0 || x - wide.columns[index - 1] >= 20));
});

test("a measure without words or chords is lower", () => {
  const bare = smallTab({ ...measure, melody: [], chords: [] }, at, { width: 288, gap: 14 });

  assert.ok(bare.height < tab().height - 20);
  assert.deepEqual([bare.words, bare.chords], [[], []]);
});
