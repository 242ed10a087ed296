import assert from "node:assert/strict";
import { test } from "node:test";

import { Practice } from "../../web_client/state.js";

const begin = (number) => ({ kind: "begin", number, digest: "d" });
const score = (number) => ({ number, clean: true });

function practice(...parts) {
  const made = new Practice();
  const told = [];
  for (const part of parts) {
    made.on(part, (value) => told.push([part, value]));
  }
  return { made, told };
}

test("verdicts of another pass are dropped", () => {
  const { made, told } = practice("verdict");
  made.take(begin(2));

  made.take({ kind: "verdict", number: 1, id: "m1e1", verdict: "early" });
  made.take({ kind: "verdict", number: 2, id: "m1e2", verdict: "late" });

  assert.deepEqual(told.map(([, { verdict }]) => verdict.id), ["m1e2"]);
});

test("a note just heard is told as a faint mark, an amended verdict as a firm one", () => {
  const { made, told } = practice("verdict");
  made.take(begin(1));

  made.take({ kind: "heard", number: 1, id: "m1e1", mark: "late", pitch: 55, string: 3, offset_ms: 60 });
  made.take({ kind: "amend", number: 1, measure: 1, id: "m1e1", verdict: "on time", offset_ms: 0, why: "a slot behind" });

  assert.deepEqual(told.map(([, { faint }]) => faint), [true, false]);
  assert.deepEqual(told.map(([, { verdict }]) => verdict.verdict), ["late", "on time"]);
});

test("a heard note that belongs to no place waits for its verdict", () => {
  const { made, told } = practice("verdict");
  made.take(begin(1));

  made.take({ kind: "heard", number: 1, id: null, mark: "extra" });

  assert.deepEqual(told, []);
});

test("a new pass rubs out scores and report, the same one told again keeps them", () => {
  const { made, told } = practice("begin");
  made.take(begin(1));
  made.take({ kind: "measure", number: 1, score: score(1) });

  made.take(begin(1));
  assert.deepEqual([...made.scores.keys()], [1]);
  made.take(begin(2));

  assert.equal(made.scores.size, 0);
  assert.deepEqual(told.map(([, { again }]) => again), [false, true, false]);
});

test("the report's scores stand for those that were told live", () => {
  const { made } = practice();
  made.take(begin(1));
  made.take({ kind: "measure", number: 1, score: score(1) });

  made.take({ kind: "report", number: 1, whole: true, measures: [score(1), score(2)] });

  assert.deepEqual([...made.scores.keys()], [1, 2]);
});

test("of a pass that was stopped only the measures that it came to have a score", () => {
  const { made } = practice();
  const silent = (/** @type {number} */ number) => ({ ...score(number), played: 0 });
  const played = (/** @type {number} */ number, missed = 0) => ({ ...score(number), played: 3, missed });
  const measures = [played(1), silent(2), played(3), silent(4), silent(5)];

  made.take({ kind: "report", number: 1, whole: false, measures });
  assert.deepEqual([...made.scores.keys()], [1, 2, 3]);
  assert.equal(made.scores.get(3)?.cut, undefined); // nothing was missed in it: the pass ended behind it
  made.take({ kind: "report", number: 1, whole: true, measures });
  assert.deepEqual([...made.scores.keys()], [1, 2, 3, 4, 5]);
  made.take({ kind: "report", number: 1, whole: false, measures: [played(1, 1), played(2, 5), silent(3)] });
  assert.deepEqual([...made.scores.values()].map(({ cut = false }) => cut), [false, true]);
});

test("another sheet forgets the pass of the one before", () => {
  const { made } = practice();
  made.take({ kind: "state", digest: "a", state: "between passes" });
  made.take(begin(1));
  made.take({ kind: "report", number: 1, whole: true, measures: [score(1)] });

  made.take({ kind: "state", digest: "b", state: "ready" });

  assert.equal(made.report, null);
  assert.equal(made.scores.size, 0);
});

test("a pass goes on while it counts in and plays", () => {
  const { made } = practice();
  const playing = ["ready", "counting in", "playing", "between passes", "paused"].filter((state) => {
    made.take({ kind: "state", digest: "a", state });
    return made.playing;
  });

  assert.deepEqual(playing, ["counting in", "playing"]);
});

test("a misspelt part is refused", () => {
  assert.throws(() => new Practice().on("reprot", () => {}), /reprot/);
});

test("a pass that the player marks is asked for once, until it is marked or the next begins", () => {
  const { made } = practice();
  const report = { kind: "report", number: 1, self_marked: true, whole: true, measures: [] };
  const asks = { ...report, asks: true };
  const asked = [];
  for (const message of [begin(1), asks, asks, report, begin(2), { ...asks, number: 2 }, begin(3)]) {
    made.take(message);
    asked.push(made.unmarked);
  }

  assert.deepEqual(asked, [0, 1, 1, 0, 0, 2, 0]);
});

test("another sheet ends the pass on it, but not the run from which the instrument is learned", () => {
  const { made } = practice();
  const begun = [];
  for (const learning of [true, false]) {
    made.take({ kind: "state", digest: "a", state: "playing", learning });
    made.take({ ...begin(1), learning });
    made.take({ kind: "state", digest: "b", state: "playing", learning });
    begun.push(made.begin !== null);
  }

  assert.deepEqual(begun, [true, false]);
});

test("where passes follow by themselves, something is going on between them too, unless the player is asked", () => {
  const { made } = practice();
  const going = [];
  for (const [state, keep_going] of [["playing", false], ["between passes", false], ["between passes", true], ["paused", true]]) {
    made.take({ kind: "state", digest: "a", state, keep_going });
    going.push(made.going);
  }

  made.take({ kind: "state", digest: "a", state: "between passes", keep_going: true });
  made.take({ kind: "report", number: 1, self_marked: true, asks: true, whole: true, measures: [] });

  assert.deepEqual(going, [true, false, true, false]);
  assert.equal(made.going, false);
});

test("a pass is a run as in a jam by what was chosen when it began, not by what is chosen since", () => {
  const { made } = practice();
  const jams = [];
  for (const message of [
    { kind: "state", digest: "a", state: "ready", jam: true },
    begin(1),
    { kind: "state", digest: "a", state: "playing", jam: false },
    begin(1),
    begin(2),
  ]) {
    made.take(message);
    jams.push(made.jam);
  }

  assert.deepEqual(jams, [true, true, true, true, false]);
});
