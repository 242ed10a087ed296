import assert from "node:assert/strict";
import { test } from "node:test";

import { isChannelMessage } from "../../web_client/midi.js";

// MIDI 1.0: status bytes 0x80..0xEF are channel messages, with two data bytes but for program change and channel pressure.
for (const [data, is] of [
  [[0x80, 60, 64], true],
  [[0x9f, 60, 100], true],
  [[0xa0, 60, 1], true],
  [[0xb0, 101, 0], true],
  [[0xc0, 5], true],
  [[0xd3, 5], true],
  [[0xe0, 0, 64], true],
  [[0x90, 60], false],
  [[0xc0, 5, 0], false],
  [[0x90, 60, 100, 0], false],
  [[60, 100, 0], false],
  [[0xf0, 1, 0xf7], false],
  [[0xf2, 1, 2], false],
  [[0xf8], false],
  [[0xfe], false],
  [[], false],
]) {
  test(`[${data}] is ${is ? "a" : "no"} channel message`, () => {
    assert.equal(isChannelMessage(Uint8Array.from(data)), is);
  });
}
