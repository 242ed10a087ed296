import assert from "node:assert/strict";
import { test } from "node:test";

import { counts, moved, ordered, placeOf, settled, whoCame } from "../../web_client/desk_cards.js";
import { placeOf as at } from "../../web_client/desk_place.js";
import { DESK } from "../../web_client/desk_english.js";
import { card, pass } from "./desk_data.mjs";

const ids = (cards) => cards.map(({ student }) => student);

test("those at practice come first, of them those who are stuck, else all by name", () => {
  const all = [
    card("zoe", { here: false }),
    card("ben", { stuck: 3, times: 4 }),
    card("ann", { here: false, stuck: 2, times: 9 }),
    card("ida"),
    card("amy"),
    card("eve", { stuck: 1, times: 5 }),
  ];

  assert.deepEqual(ids(ordered(all)), ["ben", "eve", "amy", "ida", "ann", "zoe"]);
  const { all: count, here, stuck } = counts(all);
  assert.deepEqual([count, here, ids(stuck)], [6, 4, ["ben", "eve"]]);
});

test("names are ordered as people read them", () => {
  assert.deepEqual(ids(ordered([card("b", { name: "Émile 10" }), card("c", { name: "emile 9" }), card("a", { name: "Fay" })])), ["c", "b", "a"]);
});

test("who is shown changes places with nobody, who is new comes behind the one before them, who is gone is left out", () => {
  assert.deepEqual(settled([], ["a", "b", "c"]), ["a", "b", "c"]);
  assert.deepEqual(settled(["a", "b", "c"], ["c", "a", "b"]), ["a", "b", "c"]);
  assert.deepEqual(settled(["a", "b", "c"], ["c", "x", "a"]), ["a", "c", "x"]);
  assert.deepEqual(settled(["a", "b"], ["x", "b", "a"]), ["x", "a", "b"]);
});

test("whatever comes, nobody who stays moves past another", () => {
  const names = [..."abcdefgh"];
  let state = 7;
  const random = () => (state = (state * 48271) % 2147483647) / 2147483647;
  for (let turn = 0; turn < 300; turn += 1) {
    const some = () => names.filter(() => random() > 0.4).sort(() => random() - 0.5);
    const [shown, best] = [some(), some()];
    const now = settled(shown, best);
    assert.deepEqual([...now].sort(), [...best].sort());
    const stays = shown.filter((id) => best.includes(id));
    assert.deepEqual(now.filter((id) => stays.includes(id)), stays);
  }
});

test("it is said who stands elsewhere than they should, and why", () => {
  const before = [card("amy"), card("ben", { stuck: 3 }), card("cat", { here: false }), card("dan"), card("eve"), card("fay", { here: false })];
  const places = new Map(before.map((one) => [one.student, placeOf(one)]));
  const after = [
    card("amy", { stuck: 7, times: 4 }),
    card("ben"),
    card("cat"),
    card("dan", { here: false }),
    card("eve"),
    card("fay", { here: false }),
  ];

  assert.deepEqual(whoCame(ids(before), places, new Map(after.map((one) => [one.student, one]))), ["cat"]);

  const found = moved(ids(before), new Map(places).set("cat", "come"), new Map(after.map((one) => [one.student, one])));

  assert.deepEqual(
    Object.fromEntries(Object.entries(found).map(([why, cards]) => [why, ids(cards)])),
    { come: ["cat"], gone: ["dan"], stuck: ["amy"], free: ["ben"] },
  );
  assert.equal(DESK.now.moved(found), "Amy stuck now; Cat has come; Ben not stuck any more; Dan has left");
  const still = moved(ids(before), places, new Map(before.map((one) => [one.student, one])));
  assert.equal(DESK.now.moved(still), "");
});

test("many names are cut short", () => {
  assert.equal(DESK.named(["Amy"]), "Amy");
  assert.equal(DESK.named(["A", "B", "C", "D"]), "A, B, C and D");
  assert.equal(DESK.named(["A", "B", "C", "D", "E"]), "A, B, C and 2 others");
});

test("a stuck student is told in a sentence, what they play in another", () => {
  assert.equal(DESK.now.stuck(card("amy", { stuck: 7, times: 4 })), "Measure 7 has failed four times running");
  assert.equal(DESK.now.whatAloud(card("amy", { mix: [3, 4], first: 1, last: 4 })), "Mill Lane, beginner, measures 3 to 4 of the next tier, measures 1 to 4");
  const passes = [pass([true, false, false])];
  assert.equal(
    DESK.now.strips(card("amy", { marks: pass([true, true], { tempo: 90, whole: false }) }), passes),
    "Now, beginner at 90: clean. Last pass, beginner at 80: measures 2 to 3 not clean.",
  );
});

test("when somebody was heard is said as one says it", () => {
  const now = new Date(2026, 10, 26, 9, 0);
  const said = (...when) => DESK.since(new Date(2026, ...when).toISOString(), now);

  assert.equal(said(10, 26, 8, 5), "today at 08:05");
  assert.equal(said(10, 25, 23, 59), "yesterday");
  assert.equal(said(10, 20, 12), "six days ago");
  assert.equal(said(10, 19, 12), "on 19 November");
});

test("the address says where on the desk one is", () => {
  assert.deepEqual(at(""), { view: "now", student: "" });
  assert.deepEqual(at("#open=amy-1"), { view: "open", student: "amy-1" });
  assert.deepEqual(at("#set=amy"), { view: "set", student: "amy" });
  assert.deepEqual(at("#people"), { view: "people", student: "" });
  for (const odd of ["#open", "#open=", "#open=../x", "#people=amy", "#elsewhere", "#open=AMY"]) {
    assert.equal(at(odd), null, odd);
  }
});
