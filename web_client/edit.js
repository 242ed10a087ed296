/**
 * Explaining and editing a measure: the slip beside the paper, at the foot where there is no room beside it.
 *
 * The service writes the solo; this asks, shows what came of it, and takes it back.
 *
 * @module edit
 */

import { byId, element } from "./dom.js";
import { EditGrid } from "./edit_grid.js";
import { beatAt, pluckAt, syllable } from "./edit_measure.js";
import { PluckForm } from "./edit_pluck.js";
import { drawSigns, signsOf } from "./edit_signs.js";
import { Explanations, about, sentencesOf } from "./explain.js";
import { TEXT } from "./texts.js";
import { WaysView } from "./ways.js";

/** @typedef {import("./edit_measure.js").Measure} Measure */
/** @typedef {import("./edit_measure.js").Spot} Spot */
/** @typedef {import("./messages.js").Message} Message */

/** Windows in which there is no room beside the paper. */
const NO_MARGIN = "(max-width: 62rem)";

/**
 * @param {string} url
 * @param {AbortSignal} [signal]
 * @returns {Promise<Response>} rejected with the service's own words
 */
async function get(url, signal) {
  const answer = await fetch(url, { signal });
  if (!answer.ok) {
    const told = await answer.json().catch(() => ({}));
    throw new Error(told.text ?? answer.statusText);
  }
  return answer;
}

/** The slip. */
export class EditView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./paper.js").Paper} paper
   * @param {(message: Message) => boolean} ask
   * @param {import("./edit_pluck.js").Pick} pick
   */
  constructor(practice, paper, ask, pick) {
    this.practice = practice;
    this.paper = paper;
    this.ask = ask;
    this.slip = byId("edit");
    this.explanations = new Explanations(get);
    this.form = new PluckForm({ write: (written) => this.#write(written), leaveOut: () => this.#leaveOut() }, pick);
    this.grid = new EditGrid(byId("edit-grid"), {
      choose: (spot) => this.#choose(spot),
      leaveOut: () => this.#leaveOut(),
    });
    this.ways = new WaysView(get, (way) => this.#edit({ does: "take", way }));
    /** @type {any} the solo on the sheet */
    this.arrangement = null;
    /** The measure that is shown, and the tune that it is of; null for none. */
    this.number = /** @type {number | null} */ (null);
    this.tune = "";
    /** @type {Spot | null} */
    this.spot = null;
    /** @type {import("./explain.js").Sentence[]} */
    this.sentences = [];
    /** @type {{does: string, digest: string, edits: string} | null} what was asked and is not done, and what was before */
    this.pending = null;
    /** @type {Spot | null} where to look once what was asked is there */
    this.next = null;
    /** @type {Element | null} where the focus was before */
    this.from = null;
    this.#listen();
  }

  /** Whether the slip is open. */
  get open() {
    return !this.slip.hidden;
  }

  #listen() {
    const { practice } = this;
    practice.on("state", () => this.#take());
    practice.on("failure", (failure) => failure.about === "edit" && this.#fail(failure.text));
    practice.on("line", (up) => !up && this.pending !== null && this.#fail(TEXT.edit.notNow));
    const beside = matchMedia(NO_MARGIN);
    const place = () => byId(beside.matches ? "foot" : "margin").prepend(this.slip);
    beside.addEventListener("change", place);
    place();
    byId("edit-close").addEventListener("click", () => this.close());
    byId("edit-lock").addEventListener("click", () => this.#edit({ does: "lock" }));
    byId("edit-free").addEventListener("click", () => this.#edit({ does: "free" }));
    byId("edit-undo").addEventListener("click", () => this.#again("undo"));
    byId("edit-redo").addEventListener("click", () => this.#again("redo"));
    byId("edit-between").addEventListener("change", () => this.#renew());
    this.slip.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
      if (event.key === "Escape") {
        event.stopPropagation(); // it would stop the coach too
        this.close();
      }
    });
    document.addEventListener("keydown", (event) => this.#key(event));
    this.paper.sheet.onTap((tapped) => this.#touch(tapped));
  }

  /**
   * Opens the slip.
   *
   * @param {number} number of the measure
   * @param {boolean} [ways] whether other ways through it are wanted
   */
  show(number, ways = false) {
    if (this.practice.playing || this.arrangement === null) {
      return;
    }
    if (!this.open) {
      this.from = document.activeElement;
    }
    this.slip.hidden = false;
    document.body.classList.add("editing");
    if (ways) {
      byId("edit-ways").open = true;
    }
    this.go(number);
    byId("edit-head").focus({ preventScroll: true });
    byId("margin").scrollTop = 0;
    this.slip.scrollTop = 0;
  }

  /**
   * Shows another measure, where the slip is open.
   *
   * @param {number} number
   */
  go(number) {
    if (!this.open) {
      return;
    }
    if (number !== this.number) {
      this.spot = null;
      this.#say("");
    }
    this.number = number;
    this.tune = this.practice.state?.tune ?? "";
    this.#renew();
  }

  /** Closes the slip; whoever opened it by keys is back where they were. */
  close() {
    if (!this.open) {
      return;
    }
    const had = this.slip.contains(document.activeElement);
    this.slip.hidden = true;
    document.body.classList.remove("editing");
    this.number = null;
    this.spot = null;
    this.pending = null;
    this.form.leave();
    this.ways.leave();
    this.#markChosen();
    if (had && this.from instanceof HTMLElement && this.from.isConnected) {
      this.from.focus();
    }
  }

  /**
   * Another sheet is shown, or the same one in another layout.
   *
   * @param {any} arrangement
   */
  solo(arrangement) {
    this.arrangement = arrangement;
    this.#sign();
    this.#done();
    if (this.number !== null) {
      this.#renew();
    }
  }

  // ------------------------------------------------------------------------------------------------ what comes

  #take() {
    const { state, playing } = this.practice;
    if (this.open && (playing || state?.tune !== this.tune)) {
      this.close();
    }
    this.#sign();
    if (state?.digest === this.arrangement?.digest) {
      this.#done();
    }
    this.#renewButtons();
  }

  /** What was asked is done once the edits are others, and the sheet that they made is here. */
  #done() {
    const { state } = this.practice;
    const { pending } = this;
    if (pending === null || state === null) {
      return;
    }
    if (state.digest !== pending.digest || JSON.stringify(state.edits) !== pending.edits) {
      this.pending = null;
      this.spot = this.next ?? this.spot;
      this.#say(TEXT.edit.done[pending.does]);
      this.#renewButtons();
    }
  }

  /** @param {string} words */
  #fail(words) {
    this.pending = null;
    this.#say("", words);
    this.#renewButtons();
  }

  /**
   * @param {string} words
   * @param {string} [wrong]
   */
  #say(words, wrong = "") {
    byId("edit-words").textContent = words;
    byId("edit-wrong").textContent = wrong;
  }

  // ------------------------------------------------------------------------------------------------ what is shown

  /** @returns {Measure | null} */
  #measure() {
    return this.arrangement?.measures.find((/** @type {Measure} */ one) => one.number === this.number) ?? null;
  }

  #renew() {
    const measure = this.#measure();
    if (measure === null) {
      this.close();
      return;
    }
    const { arrangement } = this;
    byId("edit-head").textContent = TEXT.edit.head(measure.number, arrangement.tier === "mixed" ? measure.tier : "");
    this.grid.show(measure, arrangement.slot, byId("edit-between").checked);
    const others = arrangement.measures
      .filter((/** @type {Measure} */ one) => one.source_measure === measure.source_measure && one !== measure)
      .map((/** @type {Measure} */ one) => one.number);
    byId("edit-wherever").textContent = TEXT.edit.wherever(others);
    this.#markChosen();
    this.#renewButtons();
    this.#showSpot();
    if (this.practice.state?.edits?.why_not === "") {
      this.ways.show(arrangement, measure);
    } else {
      this.ways.leave();
    }
    void this.#explain(arrangement.digest, measure.number);
  }

  #renewButtons() {
    const { state } = this.practice;
    if (!this.open || state === null) {
      return;
    }
    const { edits } = state;
    const sign = signsOf(edits).get(this.number ?? -1);
    const busy = this.pending !== null || state.digest !== this.arrangement?.digest;
    byId("edit-can").hidden = edits.why_not !== "";
    byId("edit-why-not").textContent = edits.why_not;
    byId("edit-standing").textContent = sign === undefined ? "" : TEXT.edit.standing[sign];
    byId("edit-can").setAttribute("aria-busy", String(busy));
    byId("edit-lock").disabled = busy || edits.locked.includes(this.number ?? -1);
    byId("edit-free").disabled = busy || sign === undefined;
    byId("edit-undo").disabled = busy || !edits.undo;
    byId("edit-redo").disabled = busy || !edits.redo;
  }

  /**
   * @param {string} digest
   * @param {number} number
   */
  async #explain(digest, number) {
    const told = byId("edit-told");
    this.sentences = [];
    if (told.dataset.of !== `${digest} ${number}`) {
      told.dataset.of = `${digest} ${number}`;
      told.replaceChildren(element("p", { className: "hint" }, TEXT.edit.explaining));
      byId("edit-difficulty").textContent = "";
    }
    try {
      const all = await this.explanations.of(digest);
      if (this.number !== number || this.arrangement.digest !== digest) {
        return;
      }
      const own = all.find((one) => one.number === number);
      this.sentences = sentencesOf(all, number);
      told.replaceChildren(...this.sentences.map(({ text }) => element("p", {}, text)));
      byId("edit-difficulty").textContent = own === undefined ? "" : TEXT.edit.difficulty(own);
      this.#tellSpot();
    } catch (error) {
      if (this.number === number) {
        told.replaceChildren(element("p", { className: "hint" }, TEXT.edit.unexplained(/** @type {Error} */ (error).message)));
      }
    }
  }

  /** @param {Spot} spot */
  #choose(spot) {
    this.spot = spot;
    this.#showSpot();
  }

  #showSpot() {
    const measure = this.#measure();
    this.grid.choose(this.spot);
    if (measure === null || this.spot === null) {
      this.form.leave();
    } else {
      this.form.show(this.arrangement, measure, this.spot);
    }
    this.#tellSpot();
  }

  /** Says what the chosen pluck is, and what the explanation has on it. */
  #tellSpot() {
    const measure = this.#measure();
    const { spot } = this;
    if (measure === null || spot === null) {
      byId("edit-about").replaceChildren();
      return;
    }
    const beat = TEXT.edit.counted(...beatAt(measure, spot.at));
    const pluck = pluckAt(measure, spot);
    const words =
      pluck === null
        ? [TEXT.edit.empty(beat, spot.string)]
        : [TEXT.edit.pluck(beat, pluck, syllable(measure, pluck.id)), ...about(this.sentences, pluck.id)];
    byId("edit-about").replaceChildren(...words.map((text) => element("p", {}, text)));
  }

  #markChosen() {
    const { svg } = this.paper.sheet;
    for (const old of svg?.querySelectorAll(".measure.chosen") ?? []) {
      old.classList.remove("chosen");
    }
    if (this.number !== null) {
      svg?.querySelector(`#${CSS.escape(`m${this.number}`)}`)?.classList.add("chosen");
    }
  }

  #sign() {
    const { state } = this.practice;
    const signs = signsOf(state !== null && state.digest === this.arrangement?.digest ? state.edits : undefined);
    this.paper.strip.sign(signs);
    drawSigns(this.paper.sheet.svg, signs);
  }

  // ------------------------------------------------------------------------------------------------ what is asked

  /** @param {Record<string, any>} edit */
  #edit(edit) {
    this.#request(edit.does, { kind: "edit", digest: this.arrangement.digest, measure: this.number, ...edit });
  }

  /** @param {"undo" | "redo"} kind */
  #again(kind) {
    this.#request(kind, { kind });
  }

  /**
   * @param {string} does
   * @param {Message} message
   */
  #request(does, message) {
    const { state } = this.practice;
    if (this.pending !== null || state === null || state.digest !== this.arrangement?.digest) {
      return;
    }
    this.pending = { does, digest: state.digest, edits: JSON.stringify(state.edits) };
    this.next = null;
    this.#say(TEXT.edit.writing);
    if (!this.ask(message)) {
      this.#fail(TEXT.edit.notNow);
    }
    this.#renewButtons();
  }

  /** @param {import("./edit_measure.js").Written} pluck */
  #write(pluck) {
    const measure = this.#measure();
    if (measure === null || this.spot === null) {
      return;
    }
    const { at, string } = this.spot;
    const standing = pluckAt(measure, this.spot);
    this.#edit(standing === null ? { does: "add", at, pluck } : { does: "replace", at, string, pluck });
    this.next = { at, string: pluck.string };
  }

  #leaveOut() {
    const measure = this.#measure();
    if (measure !== null && this.spot !== null && pluckAt(measure, this.spot) !== null) {
      this.#edit({ does: "leave out", at: this.spot.at, string: this.spot.string });
    }
  }

  /**
   * Undo and redo by keys, wherever no field needs them.
   *
   * @param {KeyboardEvent} event
   */
  #key(event) {
    const { state } = this.practice;
    const key = event.key.toLowerCase();
    const target = /** @type {Element} */ (event.target);
    const inField = target.closest("input:not([type=checkbox], [type=radio], [type=range]), select, textarea") !== null;
    if (!this.open || state === null || inField || !(event.ctrlKey || event.metaKey) || event.altKey) {
      return;
    }
    const kind = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : null;
    if (kind !== null) {
      event.preventDefault();
      if (state.edits[kind]) {
        this.#again(kind);
      }
    }
  }

  /**
   * What was touched on the sheet is explained; a mark has a story of its own, unless the slip is open.
   *
   * @param {import("./sheet.js").Tapped} tapped
   */
  #touch({ id, measure, verdict }) {
    if (!this.open && verdict !== null && verdict.verdict !== "on time") {
      return;
    }
    this.show(measure);
    const pluck = this.#measure()?.plucks.find((one) => one.id === id);
    if (pluck !== undefined) {
      this.#choose({ at: pluck.at, string: pluck.string });
    }
  }
}
