import assert from "node:assert/strict";
import { test } from "node:test";

import { TEXT } from "../../web_client/english.js";

// What a jam counts: common practice, no source.
for (const [meter, words] of [["4/4", "45 halves"], ["2/2", "45 halves"], ["3/4", ""], ["6/8", "60 dotted quarters"]]) {
  test(`a tempo in ${meter} is told in the beats that a jam counts`, () => {
    assert.equal(TEXT.transport.jamBeats(90, meter), words);
  });
}
