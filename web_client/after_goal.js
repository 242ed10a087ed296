/**
 * What has come to its end with a pass: a tempo ladder at its goal, a solo that is clean at its goal, a sitting whose
 * minutes are played; and what to do then.
 *
 * @module after_goal
 */

import { byId } from "./dom.js";
import { TEXT } from "./english.js";

/** @typedef {import("./messages.js").State} State */
/** @typedef {import("./messages.js").Report} Report */

/** The highest goal that can be set, and by how much the next one is higher; goals go by steps of four. */
const MOST = 400;
const HIGHER = 1.1;
const BY = 4;

/**
 * @typedef {{what: "ladder" | "solo" | "sitting", higher: number}} Done
 * What is at its end, and the goal that could be next, in quarters a minute.
 */

/**
 * What has come to its end.
 *
 * @param {{state: State | null, report: Report | null, tempo: number, study: boolean}} now the tempo of the pass that was
 *   played last, 0 for none, and whether a roll study is at hand
 * @returns {Done | null}
 */
export function doneOf({ state, report, tempo, study }) {
  if (state === null || report === null) {
    return null;
  }
  const higher = Math.min(MOST, Math.max(BY * Math.round((state.goal * HIGHER) / BY), state.goal + BY));
  const clean = report.whole && report.clean && !report.free && tempo >= state.goal;
  if (clean && state.policy === "steps") {
    return { what: "ladder", higher };
  }
  const { rung, sitting } = state;
  const last = study || state.tier === "advanced";
  if (clean && last && rung?.use === "whole" && rung.tempo >= state.goal && rung.tier === state.tier) {
    return { what: "solo", higher };
  }
  return sitting !== null && sitting.played >= sitting.minutes ? { what: "sitting", higher } : null;
}

/** The slip that says so. */
export class GoalView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(settings: Record<string, any>) => void} change
   */
  constructor(practice, change) {
    this.practice = practice;
    /** @type {Done | null} */
    this.done = null;
    byId("done-on").addEventListener("click", () => this.done !== null && change({ goal: this.done.higher }));
    byId("done-end").addEventListener("click", () => this.#end());
    for (const part of /** @type {const} */ (["tunes", "state", "begin", "report"])) {
      practice.on(part, () => this.#show());
    }
  }

  #show() {
    const { state, report, begin, playing } = this.practice;
    const study = this.practice.isStudy(state?.tune ?? "");
    const done = playing ? null : doneOf({ state, report, tempo: begin?.tempo ?? 0, study });
    this.done = done;
    byId("done").hidden = done === null;
    if (done !== null && state !== null) {
      byId("done-head").textContent = TEXT.done.heads[done.what];
      byId("done-words").textContent = TEXT.done.words(done.what, state);
      byId("done-on").hidden = done.what === "sitting" || done.higher <= state.goal;
      byId("done-on").textContent = TEXT.done.on(done.higher);
      byId("done-end").textContent = TEXT.done.ends[done.what];
    }
  }

  /** Ends what is at its end, by the button of its own; of a solo, goes to the choice of another tune. */
  #end() {
    switch (this.done?.what) {
      case "ladder":
        byId("drill-end").click();
        break;
      case "sitting":
        byId("sitting-end").click();
        break;
      case "solo":
        byId("choice").open = true;
        byId("chooser").elements.tune.focus();
        break;
    }
  }
}
