/**
 * A tempo ladder as a drill: a roll study or some measures, from a start to a goal by even steps.
 *
 * @module drill
 */

import { byId, element } from "./dom.js";
import { TEXT, isWhole } from "./english.js";

/** @typedef {import("./messages.js").State} State */

/**
 * @typedef {{study: string, first: number, last: number, start: number, goal: number, step: number,
 *   clean_needed: number}} Drill
 * What is asked for: `study` is the id of a roll study, empty for measures of the tune at hand; tempos in quarters a
 * minute.
 */

/** Under which name, with that of its session, the page keeps what there was before the drill. */
const KEPT = "before-drill";

/** The most rungs that are shown. */
const MOST_RUNGS = 5;

/**
 * Why a drill cannot be.
 *
 * @param {Drill} drill
 * @returns {string} empty where it can
 */
export function wrongOf(drill) {
  if (drill.study === "" && drill.first > drill.last) {
    return TEXT.drill.backwards;
  }
  return drill.goal < drill.start ? TEXT.drill.goalBelow : "";
}

/**
 * The settings that begin a drill.
 *
 * @param {Drill} drill
 * @returns {Record<string, any>}
 */
export function settingsOf({ study, first, last, start, goal, step, clean_needed }) {
  const where = study === "" ? { first, last } : { tune: study, whole: true };
  return { ...where, policy: "steps", tempo: start, goal, step, clean_needed, free_time: false, jam: false };
}

/**
 * The settings that lead back to what is practised now.
 *
 * @param {State} state
 * @returns {Record<string, any>}
 */
export function wayBack(state) {
  const { tune, tier, mix, jam, first, last, tempo, goal, floor, policy, step, clean_needed } = state;
  const { free_time, with_solo, with_backing } = state; // which the rungs of the drill choose
  const where = isWhole(state) ? { whole: true } : { first, last };
  const rule = { policy, step, clean_needed };
  return { tune, tier, mix, jam, ...where, tempo, goal, floor, ...rule, free_time, with_solo, with_backing };
}

/**
 * The rungs round the tempo where a drill stands: one below, some above, and the goal.
 *
 * @param {{tempo: number, floor: number, goal: number, step: number}} state
 * @returns {number[]} rising, the goal last
 */
export function rungsRound({ tempo, floor, goal, step }) {
  const rungs = tempo - step >= floor ? [tempo - step, tempo] : [tempo];
  while (rungs.length < MOST_RUNGS - 1 && rungs[rungs.length - 1] + step < goal) {
    rungs.push(rungs[rungs.length - 1] + step);
  }
  return rungs[rungs.length - 1] < goal ? [...rungs, goal] : rungs;
}

/** The form of a drill, and the slip of the one that is on. */
export class DrillView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {string} session
   * @param {(settings: Record<string, any>) => void} change
   */
  constructor(practice, session, change) {
    this.practice = practice;
    this.change = change;
    this.kept = `${KEPT} ${session}`;
    this.form = byId("drill-form");
    this.words = byId("drill-wrong");
    /** Whether one is on; true at first, so that what was kept for another one is forgotten. */
    this.on = true;
    this.form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      this.#begin();
    });
    this.form.addEventListener("input", () => this.#touched());
    byId("drill").addEventListener("toggle", () => this.#offer());
    byId("drill-end").addEventListener("click", () => this.#end());
    practice.on("tunes", () => this.#showStudies());
    practice.on("state", () => this.#showState());
    practice.on("line", () => this.#showState());
  }

  /** @returns {Drill} */
  #asked() {
    const value = (/** @type {string} */ name) => Number(this.form.elements[`drill_${name}`].value);
    return {
      study: this.form.elements.study.value,
      first: value("first"),
      last: value("last"),
      start: value("start"),
      goal: value("goal"),
      step: value("step"),
      clean_needed: value("clean_needed"),
    };
  }

  #begin() {
    const { state } = this.practice;
    const drill = this.#asked();
    this.words.textContent = wrongOf(drill);
    if (state === null || this.words.textContent !== "") {
      return;
    }
    keep(this.kept, wayBack(state));
    this.change(settingsOf(drill));
  }

  #end() {
    this.change(keptIn(this.kept) ?? { policy: "coach" });
  }

  /** The player has written something. */
  #touched() {
    this.words.textContent = "";
    const { study, drill_first: first, drill_last: last } = this.form.elements;
    byId("drill-measures").hidden = first.disabled = last.disabled = study.value !== "";
  }

  /** Offers what is practised now, whenever the form is opened. */
  #offer() {
    const { state } = this.practice;
    if (state === null || !byId("drill").open) {
      return;
    }
    const { elements } = this.form;
    const { first, last, tempo, goal, step, clean_needed } = state;
    for (const [name, value] of Object.entries({ first, last, start: Math.round(tempo), goal, step, clean_needed })) {
      elements[`drill_${name}`].value = TEXT.number(value);
    }
    this.#touched();
  }

  #showStudies() {
    const select = this.form.elements.study;
    const { value } = select;
    const studies = this.practice.tunes.filter((tune) => tune.study);
    const named = studies.map((tune) => element("option", { value: tune.id }, tune.title));
    select.replaceChildren(
      select.options[0],
      ...(named.length === 0 ? [] : [element("optgroup", { label: TEXT.book.studies }, ...named)]),
    );
    select.value = studies.some((tune) => tune.id === value) ? value : "";
  }

  #showState() {
    const { state, up } = this.practice;
    if (state === null) {
      return;
    }
    const on = state.policy === "steps";
    if (on !== this.on) {
      byId("drill").open = false;
      if (!on) {
        keep(this.kept, null);
      }
    }
    this.on = on;
    byId("drill").hidden = on;
    byId("drill-on").hidden = !on;
    byId("drill-begin").disabled = !up || state.digest === "";
    byId("drill-end").disabled = !up;
    this.form.elements.study.options[0].textContent = TEXT.drill.tune(state.title);
    if (on) {
      byId("drill-words").textContent = TEXT.drill.words(state);
      byId("drill-foot").textContent = TEXT.drill.foot(state);
      const rungs = rungsRound(state);
      byId("drill-rungs").replaceChildren(...rungs.map((tempo, index) => rungItem(tempo, state, rungs[index - 1])));
    }
  }
}

/**
 * @param {number} tempo
 * @param {State} state
 * @param {number | undefined} before the rung before it
 */
function rungItem(tempo, state, before) {
  const item = element("li", {}, String(Math.round(tempo)));
  if (tempo === state.tempo) {
    item.setAttribute("aria-current", "step");
    item.append(element("span", { className: "unseen" }, TEXT.drill.here));
  }
  item.classList.toggle("far", before !== undefined && tempo - before > state.step);
  return item;
}

/**
 * @param {string} name
 * @param {Record<string, any> | null} settings that lead back from the drill; null for none
 */
function keep(name, settings) {
  try {
    if (settings === null) {
      sessionStorage.removeItem(name);
    } else {
      sessionStorage.setItem(name, JSON.stringify(settings));
    }
  } catch {
    // storage is refused: the drill ends where it is
  }
}

/**
 * @param {string} name
 * @returns {Record<string, any> | null}
 */
function keptIn(name) {
  try {
    return JSON.parse(sessionStorage.getItem(name) ?? "null");
  } catch {
    return null; // storage is refused, or holds what was not written here
  }
}
