import assert from "node:assert/strict";
import { test } from "node:test";

import { byPart } from "../../web_client/playback.js";
import { takeTracks } from "../../web_client/player.js";

const cue = (voice, at = 0) => [at, voice, 60, 0.1, 1];
const TAKE = {
  positions: [[3, 0], [4, 2], [5, 4]],
  length: 6,
  cues: [cue("banjo", 0.01)],
  written: [cue("banjo")],
  click: [cue("click")],
};

test("every voice is of one part, and a part is as loud as it is told, else as can be", () => {
  const tracks = byPart(["click", "accent", "bass", "chop", "banjo"].map((voice) => cue(voice)), { click: 0.5, solo: 0 });

  assert.deepEqual(
    Object.entries(tracks).map(([part, { cues, gain }]) => [part, cues.map(([, voice]) => voice), gain]),
    [["click", ["click", "accent"], 0.5], ["backing", ["bass", "chop"], 1], ["solo", ["banjo"], 0]],
  );
});

test("a take and its solo lie left and right when both are heard, and in the middle alone", () => {
  const both = takeTracks(TAKE, "both", 0.5);

  assert.deepEqual([both.take.cues, both.solo.cues], [TAKE.cues, TAKE.written]);
  assert.ok(both.take.pan < 0 && both.take.pan === -both.solo.pan);
  assert.deepEqual(Object.keys(takeTracks(TAKE, "take", 0.5)), ["take", "click"]);
  assert.deepEqual(Object.keys(takeTracks(TAKE, "solo", 0.5)), ["solo", "click"]);
  assert.equal(takeTracks(TAKE, "take", 0.25).click.gain, 0.25);
  assert.ok(!takeTracks(TAKE, "take", 0.5).take.pan);
});
