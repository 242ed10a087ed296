import assert from "node:assert/strict";
import { test } from "node:test";

import { between, fraction } from "../../web_client/written.js";
import { nearest, samplesOf } from "../../web_client/sound.js";
import { lacks } from "../../web_client/strip.js";
import { TEXT } from "../../web_client/english.js";

const score = (more) => ({
  number: 3, expected: 8, played: 8, missed: 0, wrong: 0, extra: 0, off_time: 0, clean: true, ...more,
});
const brief = (one) => TEXT.strip.brief(one, lacks(one));
const more = (one) => TEXT.strip.more(one, lacks(one));
const full = (one) => TEXT.strip.full(one.number, one, lacks(one));

test("a clean measure says so in shape and word", () => {
  assert.equal(brief(score({ off_time: 1 })), "✓ clean");
});

test("a measure that is not clean says what it lacked, the gravest first, and how many kinds more", () => {
  assert.equal(brief(score({ clean: false, missed: 2, played: 6 })), "2 missed");
  assert.equal(brief(score({ clean: false, off_time: 3, wrong: 1 })), "1 wrong");
  assert.equal(more(score({ clean: false, off_time: 3, wrong: 1, missed: 1 })), "+2");
  assert.equal(more(score({ clean: false, off_time: 3 })), "");
  assert.equal(more(score({ off_time: 1, extra: 1 })), "");
});

test("a silent measure has a shape of its own", () => {
  assert.equal(brief(score({ clean: false, played: 0, missed: 8 })), "○ silent");
});

test("a measure in full is a sentence", () => {
  assert.equal(
    full(score({ clean: false, missed: 1, played: 7, off_time: 2 })),
    "Measure 3: not clean, 7 of 8 notes played, 1 note missed, 2 notes off time",
  );
  assert.equal(
    full(score({ missed: 1, played: 7 })),
    "Measure 3: clean, 7 of 8 notes played; 1 note missed, which a clean measure may have",
  );
  assert.equal(TEXT.strip.full(4, null, []), "Measure 4: not played yet");
});

test("written positions are exact fractions", () => {
  assert.deepEqual(["0", "1/2", "11/4", "3"].map(fraction), [0, 0.5, 2.75, 3]);
});

test("a position between two numbers lies between them on the sheet", () => {
  const known = [{ at: 0, x: 90 }, { at: 0, x: 100 }, { at: 1, x: 200 }, { at: 4, x: 500 }];

  assert.deepEqual([0, 0.5, 1, 2.5, 4].map((at) => between(known, at)), [100, 150, 200, 350, 500]);
});

const index = {
  sample_rate: 1000,
  sounds: {
    "banjo-55": { start: 0, length: 500, pitch: 55 },
    "banjo-58": { start: 510, length: 400, pitch: 58 },
    "click-accent": { start: 1000, length: 30, pitch: null },
    "click-beat": { start: 1040, length: 30, pitch: null },
  },
};

test("the bank's index is read by voice, in seconds", () => {
  const samples = samplesOf(index);

  assert.deepEqual([...samples.keys()], ["banjo", "accent", "click"]);
  assert.deepEqual(samples.get("banjo")[1], { start: 0.51, length: 0.4, pitch: 58 });
});

test("a pitch takes the nearest sample, a voice without samples none", () => {
  const banjo = samplesOf(index).get("banjo");

  assert.deepEqual([50, 56, 57, 70].map((pitch) => nearest(banjo, pitch).pitch), [55, 55, 58, 58]);
  assert.equal(nearest([], 60), null);
});
