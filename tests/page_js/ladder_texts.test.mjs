import assert from "node:assert/strict";
import { test } from "node:test";

import { meterOf } from "../../web_client/rung.js";
import { TEXT, measureList, runs } from "../../web_client/english.js";

const rung = (more) => ({
  tier: "intermediate", tempo: 72, first: 5, last: 6, why: "", use: "whole", tune: "", title: "", mix: [], solo: false,
  backing: true, ...more,
});
const what = (more, meter = "4/4") => TEXT.rung.what(rung(more), meter);

test("measures in a row are told together", () => {
  assert.deepEqual(runs([8, 5, 6, 2]), [[2, 2], [5, 6], [8, 8]]);
  assert.equal(measureList([3]), "measure 3");
  assert.equal(measureList([3, 4]), "measures 3 to 4");
  assert.equal(measureList([8, 5, 6, 2]), "measures 2, 5 to 6 and 8");
});

for (const [use, more, words] of [
  ["whole", {}, "intermediate, 72 quarters a minute (36 halves), measures 5 to 6"],
  ["part", { last: 5 }, "intermediate, 72 quarters a minute (36 halves), measure 5"],
  ["spot", {}, "measures 5 to 6 alone, 72 quarters a minute (36 halves); intermediate"],
  ["warm-up", { title: "Forward roll" }, "Forward roll: 72 quarters a minute (36 halves)"],
  ["known", { title: "Reed Bank" }, "Reed Bank: intermediate, 72 quarters a minute (36 halves)"],
  ["jam", {}, "kick-off, break, back-up, break again, ending; intermediate, 72 quarters a minute (36 halves)"],
  ["whole", { mix: [3, 7, 8] }, "intermediate, measures 3 and 7 to 8 advanced, 72 quarters a minute (36 halves), measures 5 to 6"],
]) {
  test(`a rung says what is to be played: ${use}, ${words.slice(0, 20)}`, () => {
    assert.equal(what({ use, ...more }), words);
  });
}

test("a rung counts in whole quarters a minute, as the sentence beside it does, and a jam in what these make", () => {
  assert.equal(what({ use: "warm-up", tempo: 70.7 }), "71 quarters a minute (35.5 halves)");
});

test("every use of a rung has a heading of its own, and a new tier is announced", () => {
  const uses = ["whole", "part", "spot", "warm-up", "known", "jam"];

  assert.equal(new Set(uses.map((use) => TEXT.rung.head(rung({ use })))).size, uses.length);
  assert.equal(TEXT.rung.head(rung({ offer_tier: "advanced" })), "Next rung: the advanced tier begins");
});

test("what sounds along is said where it is not the usual", () => {
  const sounds = (solo, backing) => TEXT.rung.sounds(rung({ solo, backing }));

  assert.equal(sounds(false, true), "");
  assert.equal(sounds(false, false), "With the click alone, no bass and chop.");
  assert.equal(sounds(true, true), "The solo sounds along, to be learned by ear.");
  assert.equal(sounds(true, false), "The solo sounds along, to be learned by ear; no bass and chop.");
});

test("a rung of another tune is counted in that tune's metre", () => {
  const tunes = [{ id: "waltz", meter: "3/4" }];

  assert.equal(meterOf(rung({ tune: "waltz" }), tunes, "4/4"), "3/4");
  assert.equal(meterOf(rung({}), tunes, "6/8"), "6/8");
  assert.equal(meterOf(null, tunes, "4/4"), "4/4");
});

test("a sitting tells how much of it is played", () => {
  assert.equal(TEXT.sitting.played({ minutes: 30, played: 12.9, rest: false }), "Sitting: 12 of 30 minutes");
  assert.equal(TEXT.sitting.played({ minutes: 1, played: 0, rest: false }), "Sitting: 0 of 1 minute");
  assert.equal(TEXT.sitting.played({ minutes: 30, played: 30, rest: false }), "Sitting: all 30 minutes played");
});

test("of a run as in a jam it counts whether it kept going, where somebody listened", () => {
  const played = [{ played: 3 }, { played: 0 }];
  const report = {
    number: 3, free: false, whole: false, clean: false, self_marked: false, kept_going: true, measures: played,
  };

  assert.equal(TEXT.report.head(report, false, true), "Pass 3, as in a jam: you kept going");
  assert.equal(TEXT.report.head({ ...report, kept_going: false }, false, true), "Pass 3, as in a jam: you stopped on the way");
  assert.equal(TEXT.report.head({ ...report, kept_going: null }, false, true), "Pass 3: not played to its end");
  const silent = { ...report, kept_going: null, measures: [{ played: 0 }, { played: 0 }] };
  assert.equal(TEXT.report.head(silent, false, false), "Pass 3: nothing was heard");
  assert.equal(TEXT.report.head(report, false, false), "Pass 3: not played to its end");
});

test("a drill names its measures where they are not all", () => {
  const state = { title: "Forward roll", first: 1, last: 9, measures: 9, step: 4, clean_needed: 1, goal: 120 };

  assert.equal(TEXT.drill.words(state), "Forward roll: 4 up after each clean pass, to 120.");
  assert.equal(
    TEXT.drill.words({ ...state, first: 2, clean_needed: 3 }),
    "Measures 2 to 9 of Forward roll: 4 up after 3 clean passes in a row, to 120.",
  );
});

test("the switches that are set are told, and where none is, what one could do", () => {
  const none = { foot_start: "", foot_again: "", foot_next: "" };

  assert.equal(TEXT.drill.foot(none), "A foot switch can start, repeat and go on: set one in the settings.");
  assert.equal(
    TEXT.drill.foot({ ...none, foot_start: "CC 64", foot_next: "PC 2" }),
    "By foot: CC 64 starts and stops, PC 2 takes the next rung.",
  );
});

test("what is said aloud after a pass ends with the rest that is due and what comes next", () => {
  const report = {
    number: 2, free: false, whole: true, clean: true, self_marked: false, sentences: ["All clean."], kept_going: null,
    measures: [{ played: 8 }],
    rest: "Rest now.", rung: rung({ why: "Clean: up to 72." }),
  };

  assert.equal(
    TEXT.report.aloud(report, { unmarked: false, jam: false, meter: "3/4" }),
    "Pass 2: clean. All clean. Rest now. Next: intermediate, 72 quarters a minute, measures 5 to 6. Clean: up to 72.",
  );
});
