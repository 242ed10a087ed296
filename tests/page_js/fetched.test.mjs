import assert from "node:assert/strict";
import { afterEach, test } from "node:test";

import { fetched } from "../../web_client/fetched.js";

const real = globalThis.fetch;
afterEach(() => {
  globalThis.fetch = real;
});

test("what is there comes as it is", async () => {
  globalThis.fetch = async (url) => new Response(`at ${url}`);

  assert.equal(await (await fetched("here")).text(), "at here");
});

test("a refusal is in the service's own words, or in those of the standard", async () => {
  globalThis.fetch = async () => new Response('{"text": "there is no such solo."}', { status: 404 });
  await assert.rejects(fetched("here"), { message: "there is no such solo." });

  globalThis.fetch = async () => new Response("<html>", { status: 502, statusText: "Bad Gateway" });
  await assert.rejects(fetched("here"), { message: "Bad Gateway" });
});

test("a line that is down is said in words, and what was given up stays what it is", async () => {
  globalThis.fetch = async () => {
    throw new TypeError("Failed to fetch");
  };
  await assert.rejects(fetched("here"), { message: "the service cannot be reached." });

  globalThis.fetch = async (_url, { signal }) => signal.throwIfAborted();
  await assert.rejects(fetched("here", AbortSignal.abort()), { name: "AbortError" });
});
