import assert from "node:assert/strict";
import { test } from "node:test";

import { KNEE, MOST, limitCurve, limited } from "../../web_client/limit.js";

test("what is soft is not changed, and nothing is louder than full scale", () => {
  for (let into = -MOST; into <= MOST; into += 0.01) {
    const out = limited(into);
    assert.ok(Math.abs(out) <= 1);
    if (Math.abs(into) <= KNEE) {
      assert.equal(out, into);
    }
  }
});

test("louder in is never softer out, and the curve has no step", () => {
  const curve = limitCurve();
  const step = (2 * MOST) / (curve.length - 1);

  for (let index = 1; index < curve.length; index += 1) {
    const rise = curve[index] - curve[index - 1];
    assert.ok(rise >= 0 && rise <= step * 1.001, `at ${index}: ${rise}`);
  }
});

test("silence stays silence: a point of the curve lies at 0", () => {
  const curve = limitCurve();

  assert.equal(curve[(curve.length - 1) / 2], 0);
});
