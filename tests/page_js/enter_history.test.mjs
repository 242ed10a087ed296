import assert from "node:assert/strict";
import { test } from "node:test";

import { History, MOST_STEPS } from "../../web_client/enter_history.js";
import { EMPTY } from "../../web_client/enter_tune.js";

const step = (tempo, at = 0) => ({ draft: { ...EMPTY, tempo }, at });

test("steps are taken back and done again in order, until another is taken", () => {
  const history = new History(step(1));
  history.go(step(2));
  history.go(step(3));

  history.undo();
  history.undo();
  assert.equal(history.now.draft.tempo, 1);
  assert.deepEqual([history.canUndo, history.canRedo], [false, true]);
  history.undo();
  history.redo();
  assert.equal(history.now.draft.tempo, 2);
  history.go(step(4));
  history.redo();
  assert.deepEqual([history.now.draft.tempo, history.canRedo], [4, false]);
});

test("to choose another note is no step", () => {
  const first = step(1);
  const history = new History(first);
  history.go({ draft: first.draft, at: 3 });

  assert.deepEqual([history.canUndo, history.now.at], [false, 3]);
});

test("what is amended takes the place of the step at hand", () => {
  const history = new History(step(1));
  history.go(step(2));
  history.amend(step(5));
  history.undo();

  assert.equal(history.now.draft.tempo, 1);
});

test("so many steps are kept and no more", () => {
  const history = new History(step(0));
  for (let count = 1; count <= MOST_STEPS + 5; count += 1) {
    history.go(step(count));
  }
  let undone = 0;
  for (; history.canUndo; undone += 1) {
    history.undo();
  }

  assert.equal(undone, MOST_STEPS);
  assert.equal(history.now.draft.tempo, 5);
});
