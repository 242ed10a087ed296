/**
 * The measures of a mixed solo: which are of the next tier, and how the player chooses others.
 *
 * @module mix
 */

import { byId, element } from "./dom.js";
import { TEXT } from "./english.js";
import { tierAfter } from "./tiers.js";

/** @typedef {import("./messages.js").State} State */

/**
 * The measures of the next tier once one is taken in or out.
 *
 * @param {number[]} mix
 * @param {number} measure
 * @returns {number[]} rising
 */
export function toggled(mix, measure) {
  const others = mix.filter((one) => one !== measure);
  return (others.length < mix.length ? others : [...mix, measure]).sort((a, b) => a - b);
}

/** A measure of the strip that the player chose: how it went, and what can be done with it; and the mix as a whole. */
export class MeasureChoice {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(measure: number) => string} wordsOf how a measure went, empty where there is none
   * @param {(settings: Record<string, any>) => void} change
   * @param {(measure: number, ways: boolean) => void} look called when the measure is to be explained, or edited
   */
  constructor(practice, wordsOf, change, look) {
    this.practice = practice;
    this.wordsOf = wordsOf;
    this.view = byId("strip-choice");
    this.loop = byId("loop");
    this.take = byId("mix-take");
    this.explain = byId("strip-explain");
    this.edit = byId("strip-edit");
    this.none = byId("mix-none");
    /** The measure that was chosen last, and the tune that it is of. */
    this.measure = 0;
    this.tune = "";
    this.loop.addEventListener("click", () => change({ first: this.measure, last: this.measure }));
    this.take.addEventListener("click", () => change({ mix: toggled(this.#mix(), this.measure) }));
    this.none.addEventListener("click", () => change({ mix: [] }));
    this.explain.addEventListener("click", () => look(this.measure, false));
    this.edit.addEventListener("click", () => look(this.measure, true));
    practice.on("state", () => this.#show());
    practice.on("tunes", () => this.#show());
  }

  /** @param {number} measure */
  choose(measure) {
    this.measure = measure;
    this.tune = this.practice.state?.tune ?? "";
    this.loop.textContent = TEXT.strip.loop(measure);
    const of = () => element("span", { className: "unseen" }, TEXT.edit.measure(measure));
    this.explain.replaceChildren(TEXT.edit.explain, of());
    this.edit.replaceChildren(TEXT.edit.edit, of());
    this.renew();
    this.#show();
  }

  /** Says again how the measure went: the strip shows another solo now, or none. */
  renew() {
    const words = this.practice.state?.tune === this.tune ? this.wordsOf(this.measure) : "";
    byId("strip-words").textContent = words;
    this.view.hidden = words === "";
  }

  /** No measure is chosen any more. */
  leave() {
    this.tune = "";
    this.renew();
  }

  #mix() {
    return this.practice.state?.mix ?? [];
  }

  #show() {
    const { state } = this.practice;
    if (state === null) {
      return;
    }
    const mixed = state.mix.length > 0;
    byId("mix").hidden = !mixed;
    if (mixed) {
      byId("mix-words").textContent = TEXT.mix.words(state);
      this.none.textContent = TEXT.mix.none(state);
    }
    const next = tierAfter(state.tier);
    const tier = this.#mix().includes(this.measure) ? state.tier : next;
    // A jam run counts its measures on, so they are not those of the solo that could be mixed in.
    this.take.hidden = next === "" || this.practice.isStudy(state.tune) || state.jam;
    this.take.textContent = TEXT.mix.take(this.measure, tier);
    this.edit.hidden = state.edits.why_not !== "";
  }
}
