import assert from "node:assert/strict";
import { test } from "node:test";

import { calendar, dayHere, dayOf, gathered, partsOf, written } from "../../web_client/progress_days.js";
import { TODAY, dateOf } from "./progress_data.mjs";

test("days are counted from 1 January 1970, leap days too", () => {
  assert.equal(dayOf("1970-01-01"), 0);
  assert.equal(dayOf("2028-03-01") - dayOf("2028-02-28"), 2);
  assert.deepEqual(partsOf(dayOf("2026-11-26")), { year: 2026, month: 11, day: 26 });
  assert.equal(dayHere(new Date(2026, 10, 26, 23, 59)), TODAY);
  assert.equal(dayHere(new Date(2026, 10, 26, 0, 0)), TODAY);
});

test("a first day begins two weeks that are to be filled", () => {
  const { unit, stretches } = calendar(TODAY, TODAY, 800);

  assert.equal(unit, "day");
  assert.deepEqual([stretches[0].first, stretches.at(-1).last], [TODAY, TODAY + 13]);
});

test("days where each has room, else weeks, else months", () => {
  const units = (days, room) => calendar(TODAY - days + 1, TODAY, room).unit;

  assert.equal(units(100, 800), "day");
  assert.equal(units(101, 800), "week");
  assert.equal(units(365, 800), "week");
  assert.equal(units(365, 310), "month");
});

test("weeks run from Monday to Sunday, months from the first to the last, without gaps", () => {
  for (const room of [800, 310]) {
    const { unit, stretches } = calendar(TODAY - 364, TODAY, room);

    assert.ok(stretches[0].first <= TODAY - 364 && stretches.at(-1).last >= TODAY);
    for (const [index, { first, last }] of stretches.entries()) {
      assert.equal(first, index === 0 ? first : stretches[index - 1].last + 1);
      const weekday = new Date(first * 86_400_000).getUTCDay();
      assert.deepEqual(unit === "week" ? [weekday, last - first] : [partsOf(first).day, partsOf(last + 1).day],
        unit === "week" ? [1, 6] : [1, 1]);
    }
  }
});

test("what lies in a stretch is gathered there, and what lies outside is left out", () => {
  const dates = calendar(TODAY - 364, TODAY, 800);
  const last = dates.stretches.at(-1);
  const items = [last.first, last.first - 1, last.first + 3, TODAY - 900].map((day) => ({ day: dateOf(day) }));

  const found = gathered(dates, items);

  assert.deepEqual(found.at(-1), [items[0], items[2]]);
  assert.deepEqual(found.at(-2), [items[1]]);
  assert.equal(found.flat().length, 3);
});

test("labels of days begin with the first and keep apart", () => {
  const dates = calendar(TODAY - 29, TODAY, 780);

  const labels = written(dates, 26, 50);

  assert.deepEqual(labels.slice(0, 3).map(({ day }) => TODAY - day), [29, 27, 25]);
});

test("weeks are labelled where a month begins, and months by the quarter where there is little room", () => {
  const weeks = calendar(TODAY - 364, TODAY, 800);
  const months = calendar(TODAY - 364, TODAY, 310);

  for (const { index, day } of written(weeks, 15, 36)) {
    assert.equal(partsOf(day).day, 1);
    assert.ok(weeks.stretches[index].first <= day && day <= weeks.stretches[index].last);
  }
  assert.equal(written(weeks, 15, 36).length, 12);
  assert.deepEqual(written(months, 12, 36).map(({ day }) => partsOf(day).month), [1, 4, 7, 10]);
});
