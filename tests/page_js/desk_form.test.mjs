import assert from "node:assert/strict";
import { test } from "node:test";

import { measuresTyped, steered, together } from "../../web_client/desk_form.js";

test("measures are read as they are typed", () => {
  assert.deepEqual(measuresTyped(""), []);
  assert.deepEqual(measuresTyped(" 3, 5 to 7 "), [3, 5, 6, 7]);
  assert.deepEqual(measuresTyped("7-5"), null);
  assert.deepEqual(measuresTyped("9 and 2; 4–5 4"), [2, 4, 5, 9]);
  assert.deepEqual(measuresTyped("0"), [0]);
  assert.deepEqual([measuresTyped("2000")?.length, measuresTyped("2001")], [1, null]);
  for (const odd of ["three", "3.5", "-", "1 to", "1-2-3", "99999"]) {
    assert.equal(measuresTyped(odd), null, odd);
  }
});

const is = { tempo: 84, tier: "beginner", first: 1, last: 16, measures: 16 };
const wanted = { tempo: 84, tier: "beginner", whole: true, first: 1, last: 16 };

test("only what would be another value is asked of a student", () => {
  assert.equal(steered(is, wanted), null);
  assert.deepEqual(steered(is, { ...wanted, tempo: 72 }), { tempo: 72 });
  assert.deepEqual(steered(is, { ...wanted, tier: "advanced" }), { tier: "advanced" });
  assert.deepEqual(steered(is, { ...wanted, whole: false, first: 5, last: 8 }), { first: 5, last: 8 });
});

test("the whole solo is asked for where some measures are practised", () => {
  assert.deepEqual(steered({ ...is, first: 5, last: 8 }, { ...wanted, first: 5, last: 8 }), { whole: true });
  assert.equal(steered({ ...is, first: 5, last: 8 }, { ...wanted, whole: false, first: 5, last: 8 }), null);
});

const set = (student, more = {}) => ({
  id: student, student, student_name: student, tune: "mill", title: "Mill Lane", tier: "beginner", mix: [], goal: 100,
  until: "", words: "", by: "Ruth", cap: null, cap_until: "", rules: "", reached: null, ...more,
});

test("what is the same for several is taken together, by the day until which it holds", () => {
  const groups = together([
    set("Zoe"),
    set("Ann"),
    set("Ben", { until: "2026-12-04" }),
    set("Ida", { until: "2026-12-01", title: "Otter Run", tune: "otter" }),
    set("Eve", { goal: 120 }),
  ]);

  assert.deepEqual(
    groups.map((group) => group.map(({ student }) => student)),
    [["Ida"], ["Ben"], ["Ann", "Zoe"], ["Eve"]],
  );
});
