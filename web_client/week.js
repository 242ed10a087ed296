/**
 * The page of a week: asks whose it may show, fetches it and has it drawn.
 *
 * @module week
 */

import { ask, whoIsHere } from "./asked.js";
import { byId, element } from "./dom.js";
import { Sound } from "./sound.js";
import { WEEK } from "./week_english.js";
import { WeekTakes } from "./week_take.js";
import { partsOf } from "./week_view.js";

/** @typedef {import("./week_view.js").Week} Week */

/** Whose week is shown; empty for one's own. */
let student = new URLSearchParams(location.search).get("student") ?? "";
/** @type {Week | null} */
let shown = null;
/** Counts what was asked for, so that only the last is shown. */
let turn = 0;

/** @param {string} words empty to take them away */
function say(words) {
  byId("words").textContent = words;
  byId("words").hidden = words === "";
}

const takes = new WeekTakes(new Sound({}), say);

/**
 * An address of the one whose week is shown.
 *
 * @param {string} path
 * @param {string} week empty for this one
 */
function address(path, week) {
  const query = String(new URLSearchParams({ ...(student && { student }), ...(week && { week }) }));
  return query === "" ? path : `${path}?${query}`;
}

/** @param {string} week empty for this one */
async function load(week) {
  turn += 1;
  const asked = turn;
  takes.stop();
  say(WEEK.loading);
  try {
    const answer = await ask(address("week.json", week));
    if (asked === turn) {
      show(answer);
    }
  } catch (error) {
    if (asked === turn) {
      say(/** @type {Error} */ (error).message);
    }
  }
}

/** @param {Week} week */
function show(week) {
  shown = week;
  const title = WEEK.title(week.name, week.first, week.last);
  byId("title").textContent = title;
  document.title = title;
  say("");
  byId("parts").replaceChildren(...partsOf(week, (take, button) => void takes.hear(take, button)));
  byId("parts").hidden = false;
  byId("csv").href = address("week.csv", week.week);
  byId("after").disabled = new Date(`${week.last}T23:59:59`) >= new Date();
  history.replaceState(null, "", address(location.pathname, week.week));
}

/** @param {string} where */
function turnTo(where) {
  void load(where);
  byId("week").focus({ preventScroll: true });
}

async function begin() {
  say(WEEK.loading);
  try {
    const { person } = await whoIsHere();
    if (person === null || person.role === "alone") {
      say(WEEK.alone);
      return;
    }
    if (person.role === "teacher") {
      byId("to-desk").hidden = false;
      const { people } = await ask("studio.json");
      const students = people.filter((/** @type {{role: string}} */ { role }) => role === "student");
      if (students.length === 0) {
        say(WEEK.nobody);
        return;
      }
      if (!students.some((/** @type {{id: string}} */ { id }) => id === student)) {
        student = students[0].id;
      }
      byId("student").replaceChildren(
        ...students.map((/** @type {{id: string, name: string}} */ { id, name }) => element("option", { value: id }, name)),
      );
      byId("student").value = student;
      byId("who").hidden = false;
    } else {
      student = "";
    }
    byId("which").hidden = false;
    await load(new URLSearchParams(location.search).get("week") ?? "");
  } catch (error) {
    say(/** @type {Error} */ (error).message);
  }
}

byId("which").addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());
byId("student").addEventListener("change", () => {
  student = byId("student").value;
  void load(shown?.week ?? "");
});
byId("before").addEventListener("click", () => shown !== null && turnTo(shown.before));
byId("after").addEventListener("click", () => shown !== null && turnTo(shown.after));
byId("print").addEventListener("click", () => window.print());
void begin();
