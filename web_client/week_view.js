/**
 * A week of practice on one page of paper.
 *
 * @module week_view
 */

import { element } from "./dom.js";
import { WEEK } from "./week_english.js";

/**
 * @typedef {{folder: string, number: number, tune: string, title: string, tier: string, tempo: number, day: string,
 *   first: number, last: number, clean: boolean, why: string, cues: string, midi: string}} Take
 *
 * @typedef {{title: string, tier: string, mix: number[], goal: number, until: string, words: string, by: string,
 *   rules: string, reached: number | null, ended: string | null}} Assignment
 *
 * @typedef {object} Week
 * @property {"week/1"} format
 * @property {string} student
 * @property {string} name
 * @property {string} week
 * @property {string} first the first day
 * @property {string} last
 * @property {string} before the name of the week before
 * @property {string} after
 * @property {number} minutes
 * @property {number} passes
 * @property {{day: string, minutes: number, tunes: Record<string, number>}[]} days
 * @property {{id: string, title: string, minutes: number, passes: number}[]} tunes
 * @property {{day: string, minutes: number, planned: number | null, tempo: number | null}[]} sittings
 * @property {{tune: string, title: string, tier: string, goal: number, passes: number, clean: number,
 *   before: number | null, after: number | null, ready: number | null}[]} climb
 * @property {{tune: string, title: string, tier: string, measure: number, failed: number, played: number,
 *   is_clean: boolean}[]} held_back
 * @property {{name: string, words: string, passes: number, of: number}[]} habits
 * @property {Take[]} takes
 * @property {Assignment[]} assignments
 * @property {{tune: string, measure: number, words: string, by: string, made: string, seen: string | null}[]} pins
 */

/**
 * All parts of a week.
 *
 * @param {Week} week
 * @param {(take: Take, button: HTMLButtonElement) => void} hear called by the button of a take
 * @returns {HTMLElement[]}
 */
export function partsOf(week, hear) {
  const days = week.days.filter(({ minutes }) => minutes > 0).length;
  const glance = week.passes === 0 ? WEEK.nothing : WEEK.glance(week, days, week.sittings.length);
  const empty = week.passes === 0;
  return [
    element("p", { className: "glance" }, glance),
    ...(empty ? [] : [minutes(week), climb(week), heldBack(week), habits(week), takes(week, hear)]),
    assignments(week),
    pins(week),
  ];
}

/**
 * @param {string} name
 * @param {string} head
 * @param {(Node | string)[]} inside
 */
function part(name, head, ...inside) {
  const id = `${name}-head`;
  return element(
    "section",
    { className: `part ${name}`, "aria-labelledby": id },
    element("h2", { id }, head),
    ...inside,
  );
}

/**
 * @param {readonly string[]} head
 * @param {(string | Node)[][]} rows
 * @param {string} name for those who do not see what stands above it
 */
function table(head, rows, name) {
  const cell = (/** @type {string | Node} */ words, /** @type {number} */ index) =>
    element(index === 0 ? "th" : "td", index === 0 ? { scope: "row" } : {}, words);
  return element(
    "div",
    { className: "table", tabIndex: 0, role: "group", "aria-label": name },
    element(
      "table",
      {},
      element("thead", {}, element("tr", {}, ...head.map((words) => element("th", { scope: "col" }, words)))),
      element("tbody", {}, ...rows.map((row) => element("tr", {}, ...row.map(cell)))),
    ),
  );
}

/** @param {string} words */
function note(words) {
  return element("p", { className: "hint" }, words);
}

/** @param {Week} week */
function minutes({ days, tunes, sittings }) {
  const most = Math.max(...days.map((day) => day.minutes));
  const titles = new Map(tunes.map(({ id, title }) => [id, title]));
  const rows = days.map((day) => {
    const bar = element("span", { className: "amount", "aria-hidden": "true" });
    bar.style.width = `${(100 * day.minutes) / most}%`;
    const own = Object.entries(day.tunes).sort(([, one], [, other]) => other - one);
    return [
      WEEK.minutes.day(day.day),
      element("span", { className: "amounts" }, element("span", {}, WEEK.minutes.amount(day.minutes)), bar),
      own.map(([id, amount]) => WEEK.minutes.tune(titles.get(id) ?? id, amount)).join(", "),
    ];
  });
  const { head, columns } = WEEK.minutes;
  const sat = sittings.length === 0 ? [] : [note(WEEK.minutes.sittings(sittings))];
  return part("minutes", head, table(columns, rows, head), ...sat);
}

/** @param {Week} week */
function climb({ climb: lines }) {
  const { head, columns, none, tempo } = WEEK.climb;
  const rows = lines.map((line) => [
    line.title,
    WEEK.tier(line.tier),
    tempo(line.before),
    element("strong", {}, tempo(line.after)),
    tempo(line.ready),
    tempo(line.goal),
    WEEK.climb.clean(line.clean, line.passes),
  ]);
  return part("climb", head, ...(rows.length === 0 ? [note(none)] : [table(columns, rows, head), note(WEEK.climb.note)]));
}

/** @param {Week} week */
function heldBack({ held_back: lines }) {
  const { head, columns, none, failed, now } = WEEK.held;
  const rows = lines.map((line) => [
    String(line.measure),
    `${line.title}, ${WEEK.tier(line.tier)}`,
    failed(line.failed, line.played),
    now(line.is_clean),
  ]);
  return part("held", head, rows.length === 0 ? note(none) : table(columns, rows, head));
}

/** @param {Week} week */
function habits({ habits: found }) {
  const { head, none, often } = WEEK.habits;
  const items = found.map(({ words, passes, of }) =>
    element("li", {}, words, element("span", { className: "facts" }, often(passes, of))),
  );
  return part("habits", head, items.length === 0 ? note(none) : element("ul", {}, ...items));
}

/**
 * @param {Week} week
 * @param {(take: Take, button: HTMLButtonElement) => void} hear
 */
function takes({ takes: found }, hear) {
  const { head, none } = WEEK.takes;
  const items = found.map((take) => {
    const words = `${WEEK.takes.play}: ${WEEK.takes.hear(take)}`;
    const button = element("button", { type: "button", "aria-label": words }, WEEK.takes.play);
    button.addEventListener("click", () => hear(take, button));
    const what = element("span", { className: "facts" }, WEEK.takes.what(take));
    return element("li", { className: "take" }, button, element("span", {}, take.why, " ", what));
  });
  return part("takes", head, items.length === 0 ? note(none) : element("ul", {}, ...items));
}

/** @param {Week} week */
function assignments({ assignments: set }) {
  const { head, none, what, far, ended } = WEEK.set;
  const items = set.map((one) =>
    element(
      "li",
      {},
      element("p", {}, what(one), ". ", element("strong", {}, far(one))),
      ...[one.rules, one.ended === null ? "" : ended].filter((words) => words !== "").map(note),
      ...(one.words === "" ? [] : [element("p", { className: "teacher-words" }, one.words)]),
    ),
  );
  return part("set", head, items.length === 0 ? note(none) : element("ul", {}, ...items));
}

/** @param {Week} week */
function pins({ pins: found, tunes, assignments: set, climb: lines }) {
  const { head, none, where, read } = WEEK.pins;
  const titles = new Map([
    ...set.map((one) => /** @type {[string, string]} */ ([/** @type {any} */ (one).tune, one.title])),
    ...lines.map(({ tune, title }) => /** @type {[string, string]} */ ([tune, title])),
    ...tunes.map(({ id, title }) => /** @type {[string, string]} */ ([id, title])),
  ]);
  const items = found.map(({ tune, measure, words, seen }) =>
    element(
      "li",
      {},
      element("p", {}, element("strong", {}, where(titles.get(tune) ?? tune, measure)), ". ", read(seen)),
      element("p", { className: "teacher-words" }, words),
    ),
  );
  return part("pins", head, items.length === 0 ? note(none) : element("ul", {}, ...items));
}
