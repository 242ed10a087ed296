import assert from "node:assert/strict";
import { test } from "node:test";

import { along, minuteScale, tempoScale } from "../../web_client/progress_scale.js";

test("a scale of tempos has room for every value, on lines that can be read off", () => {
  for (const tempos of [[62], [60, 60], [58.4, 121], [20, 400], [99.9, 100.1]]) {
    const { low, high, lines } = tempoScale(tempos);

    assert.ok(low <= Math.min(...tempos) && high >= Math.max(...tempos) && low < high, `${low} to ${high}`);
    assert.deepEqual([lines[0], lines.at(-1)], [low, high]);
    assert.ok(lines.length >= 2 && lines.length <= 7, `${lines.length} lines`);
    assert.ok(lines.every((line) => line % 5 === 0));
  }
});

test("a scale of minutes begins at nothing, so that bars can be compared", () => {
  for (const longest of [0, 0.4, 12, 119, 640, 5000]) {
    const { low, high, lines } = minuteScale(longest);

    assert.equal(low, 0);
    assert.ok(high >= longest && high > 0);
    assert.ok(lines.length <= 5, `${lines.length} lines`);
  }
});

test("a place along a scale is between its ends in proportion", () => {
  const y = along({ low: 60, high: 100 }, 200, 40);

  assert.deepEqual([60, 70, 100].map(y), [200, 160, 40]);
});
