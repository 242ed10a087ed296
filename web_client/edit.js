/**
 * Explaining and editing a measure: the slip beside the paper, at the foot where there is no room beside it.
 *
 * The service writes the solo; this asks, shows what came of it, and takes it back.
 *
 * @module edit
 */

import { allow, byId, calm, onPress } from "./dom.js";
import { EditGrid } from "./edit_grid.js";
import { MeasureHeard } from "./edit_heard.js";
import { pluckAt } from "./edit_measure.js";
import { PluckForm } from "./edit_pluck.js";
import { EditRequests } from "./edit_requests.js";
import { signsOf } from "./edit_signs.js";
import { Told } from "./edit_told.js";
import { TEXT } from "./english.js";
import { fetched } from "./fetched.js";
import { WaysView } from "./ways.js";

/** @typedef {import("./edit_measure.js").Measure} Measure */
/** @typedef {import("./edit_measure.js").Spot} Spot */
/** @typedef {import("./messages.js").Message} Message */

/** Windows in which there is no room beside the paper. */
const NO_MARGIN = "(max-width: 62rem)";

/** Pixels that stay free around the measure on the sheet. */
const AIR = 12;

/** Fields that need undo and redo for what is typed into them. */
const FIELDS = "input:not([type=checkbox], [type=radio], [type=range]), select, textarea";

/** The slip. */
export class EditView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./paper.js").Paper} paper
   * @param {(message: Message) => boolean} ask
   * @param {import("./edit_pluck.js").Pick} pick
   * @param {import("./player.js").Player} player
   */
  constructor(practice, paper, ask, pick, player) {
    this.practice = practice;
    this.paper = paper;
    this.slip = byId("edit");
    /** @type {any} the solo on the sheet */
    this.arrangement = null;
    /** The measure that is shown, and the tune that it is of; null for none. */
    this.number = /** @type {number | null} */ (null);
    this.tune = "";
    /** @type {Spot | null} the place that is chosen */
    this.spot = null;
    /** @type {Element | null} where the focus was before */
    this.from = null;
    const leaveOut = () => this.#leaveOut();
    this.told = new Told(fetched);
    this.form = new PluckForm({ write: (written) => this.#write(written), leaveOut }, (picker) =>
      pick((place) => {
        picker(place);
        this.#bring(); // the pad had taken its room
      }),
    );
    this.grid = new EditGrid(byId("edit-grid"), { choose: (spot) => this.#choose(spot), leaveOut });
    this.heard = new MeasureHeard(practice, player, (wrong) => (byId("edit-silent").textContent = wrong));
    this.ways = new WaysView(fetched, (way) => this.#edit({ does: "take", way }), this.heard);
    this.requests = new EditRequests(practice, ask, (words, wrong) => {
      byId("edit-words").textContent = words;
      byId("edit-wrong").textContent = wrong;
      this.#renewButtons();
    });
    this.#listen();
  }

  /** Whether the slip is open. */
  get open() {
    return !this.slip.hidden;
  }

  #listen() {
    this.practice.on("state", () => this.#take());
    const below = matchMedia(NO_MARGIN);
    const place = () => byId(below.matches ? "foot" : "margin").prepend(this.slip);
    below.addEventListener("change", place);
    place();
    byId("edit-close").addEventListener("click", () => this.close());
    this.heard.on(byId("edit-listen"), TEXT.edit.standing, () => {
      const measure = this.#measure();
      return measure === null ? null : { measure, slot: this.arrangement.slot };
    });
    onPress(byId("edit-lock"), () => this.#edit({ does: "lock" }));
    onPress(byId("edit-free"), () => this.#edit({ does: "free" }));
    onPress(byId("edit-undo"), () => this.requests.again("undo"));
    onPress(byId("edit-redo"), () => this.requests.again("redo"));
    byId("edit-between").addEventListener("change", () => this.#renew());
    this.slip.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
      if (event.key === "Escape") {
        event.stopPropagation(); // it would stop the coach too
        this.close();
      }
    });
    document.addEventListener("keydown", (event) => this.#key(event));
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
    if (ways) {
      byId("edit-ways").open = true;
    }
    this.go(number);
    byId("edit-head").focus({ preventScroll: true });
    byId("margin").scrollTop = 0;
    this.slip.scrollTop = 0;
    this.#bring();
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
      this.requests.leave();
      this.heard.stop();
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
    this.number = null;
    this.spot = null;
    this.form.leave();
    this.ways.leave();
    this.requests.leave();
    this.heard.stop();
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
    this.spot = this.requests.shown(arrangement.digest) ?? this.spot;
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
    this.requests.shown(this.arrangement?.digest ?? "");
    this.#renewButtons();
  }

  /**
   * What was touched on the sheet is explained.
   *
   * @param {import("./sheet.js").Tapped} tapped
   */
  touch({ id, measure }) {
    this.show(measure);
    const pluck = this.#measure()?.plucks.find((one) => one.id === id);
    if (pluck !== undefined) {
      this.#choose({ at: pluck.at, string: pluck.string });
    }
  }

  /**
   * Undo and redo by keys, wherever no field needs them.
   *
   * @param {KeyboardEvent} event
   */
  #key(event) {
    const key = event.key.toLowerCase();
    const kind = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : null;
    const meant = (event.ctrlKey || event.metaKey) && !event.altKey && document.querySelector("dialog[open]") === null;
    if (kind !== null && meant && this.open && /** @type {Element} */ (event.target).closest(FIELDS) === null) {
      event.preventDefault();
      this.requests.again(kind);
    }
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
    void this.told.measure(arrangement.digest, measure.number);
  }

  #renewButtons() {
    const { state } = this.practice;
    const measure = this.#measure();
    if (!this.open || state === null || measure === null) {
      return;
    }
    const { edits } = state;
    const { busy } = this.requests;
    const sign = signsOf(edits).get(measure.number);
    for (const part of ["edit-can", "edit-more"]) {
      byId(part).hidden = edits.why_not !== "";
      byId(part).setAttribute("aria-busy", String(busy));
    }
    byId("edit-why-not").textContent = edits.why_not;
    byId("edit-standing").textContent = TEXT.edit.stands(sign, edits.remarks, measure.number);
    allow(byId("edit-lock"), !busy && !edits.locked.includes(measure.number));
    allow(byId("edit-free"), !busy && sign !== undefined);
    allow(byId("edit-undo"), !busy && edits.undo);
    allow(byId("edit-redo"), !busy && edits.redo);
    if (edits.why_not !== "") {
      this.ways.leave();
    } else if (state.digest === this.arrangement.digest) {
      this.ways.show(this.arrangement, measure);
    }
  }

  /** @param {Spot} spot */
  #choose(spot) {
    this.spot = spot;
    this.#showSpot();
    byId("edit-about").scrollIntoView({ behavior: calm(), block: "nearest" });
  }

  #showSpot() {
    const measure = this.#measure();
    this.grid.choose(this.spot);
    this.told.place(measure, this.spot);
    if (measure === null || this.spot === null) {
      this.form.leave();
    } else {
      this.form.show(this.arrangement, measure, this.spot);
    }
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

  /** Scrolls so that the measure is seen on the sheet, over the foot. */
  #bring() {
    const box = this.paper.sheet.svg?.querySelector(".measure.chosen")?.getBoundingClientRect();
    const room = window.innerHeight - byId("foot").getBoundingClientRect().height;
    if (box !== undefined && box.top < AIR) {
      window.scrollBy({ top: box.top - AIR, behavior: calm() });
    } else if (box !== undefined && box.bottom > room - AIR) {
      window.scrollBy({ top: Math.min(box.top - AIR, box.bottom - room + AIR), behavior: calm() });
    }
  }

  // ------------------------------------------------------------------------------------------------ what is asked

  /**
   * @param {Record<string, any> & {does: string}} edit
   * @param {Spot | null} [next] where to look once it is done
   */
  #edit(edit, next = null) {
    if (this.number !== null) {
      this.requests.edit(this.number, edit, next);
    }
  }

  /** @returns {import("./edit_measure.js").Pluck | null} what stands at the chosen place */
  #chosen() {
    const measure = this.#measure();
    return measure === null || this.spot === null ? null : pluckAt(measure, this.spot);
  }

  /** @param {import("./edit_measure.js").Written} pluck */
  #write(pluck) {
    if (this.spot !== null) {
      const { at, string } = this.spot;
      const place = this.#chosen() === null ? { does: "add", at } : { does: "replace", at, string };
      this.#edit({ ...place, pluck }, { at, string: pluck.string });
    }
  }

  #leaveOut() {
    if (this.spot !== null && this.#chosen() !== null) {
      this.#edit({ does: "leave out", ...this.spot });
    }
  }
}
