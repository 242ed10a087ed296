/** Passkeys as the service writes them and as browsers want them. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { bytesOf, textOf, toCreate, toUse, written } from "../../web_client/passkey.js";

const bytes = (/** @type {number[]} */ ...values) => Uint8Array.from(values);

test("base64url is that of RFC 4648: no padding, - and _ for the two odd signs", () => {
  // RFC 4648, section 10, and the two signs of section 5.
  for (const [plain, text] of [["", ""], ["f", "Zg"], ["fo", "Zm8"], ["foo", "Zm9v"], ["foobar", "Zm9vYmFy"]]) {
    assert.equal(textOf(new TextEncoder().encode(plain).buffer), text);
    assert.equal(new TextDecoder().decode(bytesOf(text)), plain);
  }
  assert.equal(textOf(bytes(0xfb, 0xff).buffer), "-_8");
  assert.deepEqual(bytesOf("-_8"), bytes(0xfb, 0xff));
});

test("options become bytes where browsers want bytes, and all else stays", () => {
  const options = {
    challenge: "AQI",
    rp: { id: "banjo.example", name: "Mill Lane" },
    user: { id: "Aw", name: "wren", displayName: "wren" },
    excludeCredentials: [{ id: "BA", type: "public-key" }],
    timeout: 300000,
  };
  assert.deepEqual(toCreate(options), {
    ...options,
    challenge: bytes(1, 2),
    user: { ...options.user, id: bytes(3) },
    excludeCredentials: [{ id: bytes(4), type: "public-key" }],
  });
  assert.deepEqual(toUse({ challenge: "AQI", rpId: "banjo.example" }), {
    challenge: bytes(1, 2),
    rpId: "banjo.example",
    allowCredentials: [],
  });
});

test("a credential is written with all that its response holds, and nothing that it does not", () => {
  const credential = {
    id: "BA",
    rawId: bytes(4).buffer,
    type: "public-key",
    response: {
      clientDataJSON: bytes(5).buffer,
      authenticatorData: bytes(6).buffer,
      signature: bytes(7).buffer,
      userHandle: null,
    },
    getClientExtensionResults: () => ({}),
  };
  assert.deepEqual(written(credential), {
    id: "BA",
    rawId: "BA",
    type: "public-key",
    response: { clientDataJSON: "BQ", authenticatorData: "Bg", signature: "Bw" },
    clientExtensionResults: {},
  });
});
