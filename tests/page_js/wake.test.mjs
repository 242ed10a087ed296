import assert from "node:assert/strict";
import { test } from "node:test";

import { Wake } from "../../web_client/wake.js";

/** A browser that notes what is asked of it. */
class FakeLocks {
  told = [];

  async request(type) {
    this.told.push(`request ${type}`);
    return { release: async () => void this.told.push("release") };
  }
}

function page(visibilityState) {
  return Object.assign(new EventTarget(), { visibilityState });
}

test("the screen is kept awake during a pass and let go after it", async () => {
  const locks = new FakeLocks();
  const wake = new Wake(locks, page("visible"));

  for (const playing of [false, true, true, false, false]) {
    wake.keep(playing);
    await wake.done;
  }

  assert.deepEqual(locks.told, ["request screen", "release"]);
});

test("a pass that ends before the browser has answered leaves no lock behind", async () => {
  const locks = new FakeLocks();
  const wake = new Wake(locks, page("visible"));

  wake.keep(true);
  wake.keep(false);
  await wake.done;

  assert.equal(wake.lock, null);
  assert.equal(locks.told.filter((one) => one !== "release").length, locks.told.filter((one) => one === "release").length);
});

test("a page that comes back during a pass asks again", async () => {
  const locks = new FakeLocks();
  const seen = page("visible");
  const wake = new Wake(locks, seen);
  wake.keep(true);
  await wake.done;

  for (const state of ["hidden", "visible"]) {
    seen.visibilityState = state;
    seen.dispatchEvent(new Event("visibilitychange"));
    await wake.done;
  }

  assert.deepEqual(locks.told, ["request screen", "release", "request screen"]);
});

test("a browser that refuses or has no such thing is left in peace", async () => {
  const refusing = { request: async () => { throw new Error("low battery"); } };
  for (const locks of [refusing, undefined]) {
    const wake = new Wake(locks, page("visible"));
    wake.keep(true);
    await wake.done;
    wake.keep(false);
    await wake.done;
    assert.equal(wake.lock, null);
  }
});
