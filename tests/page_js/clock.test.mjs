import assert from "node:assert/strict";
import { test } from "node:test";

import { AudioBridge } from "../../web_client/clock.js";
import { Watermark } from "../../web_client/watermark.js";

test("the bridge takes the median, so that one bad reading moves nothing", () => {
  const bridge = new AudioBridge();
  for (let index = 1; index <= 9; index += 1) {
    const late = index === 4 ? 0.05 : 0;
    bridge.read({ contextTime: index / 10, performanceTime: 1000 * (index / 10 + 2 + late) });
  }

  assert.ok(Math.abs(bridge.offset - 2) < 1e-9);
});

test("an even count of readings gives the middle between two", () => {
  const bridge = new AudioBridge();
  for (const [frame, heard] of [[1, 3.1], [2, 4.2], [3, 5.3], [4, 6.4]]) {
    bridge.read({ contextTime: frame, performanceTime: heard * 1000 });
  }

  assert.ok(Math.abs(bridge.offset - 2.25) < 1e-9);
});

test("a clock that stands still says nothing", () => {
  const bridge = new AudioBridge();
  for (const contextTime of [0, 0, 0.5, 0.5, 0.5]) {
    bridge.read({ contextTime, performanceTime: 700 });
  }

  assert.equal(bridge.ready, false);
  assert.equal(bridge.readings.length, 1);
});

test("only the latest readings count", () => {
  const bridge = new AudioBridge();
  for (let index = 1; index <= 100; index += 1) {
    bridge.read({ contextTime: index, performanceTime: 1000 * (index + (index <= 50 ? 1 : 2)) });
  }

  assert.equal(bridge.offset, 2);
  assert.equal(bridge.ready, true);
});

test("where a browser gives no readings, guesses stand in until there are some", () => {
  const bridge = new AudioBridge();

  for (const late of [0, 0.01, -0.01, 0.02, 0]) {
    assert.equal(bridge.ready, false);
    bridge.guess(10 + late, 4, 0.25);
  }
  assert.equal(bridge.ready, true);
  assert.equal(bridge.offset, 6.25);
  const guessed = bridge.scatter;
  assert.equal(bridge.read({ contextTime: 1, performanceTime: 8000 }), true);

  assert.equal(bridge.offset, 7);
  assert.equal(bridge.ready, false);
  assert.ok(bridge.scatter < guessed / 4);
});

test("the watermark is the moment of the tick before, never of this one", () => {
  const told = [];
  let time = 10;
  const watermark = new Watermark(() => time, (stamp) => told.push(stamp));

  for (const now of [10, 10.1, 10.4]) {
    time = now;
    watermark.tick();
  }

  assert.deepEqual(told, [10, 10.1]);
});
