/**
 * The door to explaining and editing: what is behind it is fetched when a measure is to be explained for the first time.
 * What was edited is marked on strip and sheet without.
 *
 * @module edit_door
 */

import { styled } from "./dom.js";
import { drawSigns, signsOf } from "./edit_signs.js";
import { TEXT } from "./english.js";

/** @typedef {import("./edit.js").EditView} EditView */

/** Opens the slip, and signs the measures. */
export class EditDoor {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./paper.js").Paper} paper
   * @param {(view: typeof import("./edit.js").EditView) => EditView} make puts together what is behind the door
   * @param {(words: string) => void} say told why it cannot be opened
   */
  constructor(practice, paper, make, say) {
    this.practice = practice;
    this.paper = paper;
    this.make = make;
    this.say = say;
    /** @type {EditView | null} */
    this.view = null;
    /** @type {any} the solo on the sheet */
    this.arrangement = null;
    practice.on("state", () => this.#sign());
    paper.sheet.onTap((tapped) => void this.#touch(tapped));
  }

  /** Whether the slip is open. */
  get open() {
    return this.view?.open ?? false;
  }

  /**
   * Opens the slip.
   *
   * @param {number} measure
   * @param {boolean} [ways] whether other ways through it are wanted
   */
  async show(measure, ways = false) {
    (await this.#fetched())?.show(measure, ways);
  }

  /** Closes the slip. */
  close() {
    this.view?.close();
  }

  /**
   * Shows another measure, where the slip is open.
   *
   * @param {number} measure
   */
  go(measure) {
    this.view?.go(measure);
  }

  /**
   * Another sheet is shown, or the same one in another layout.
   *
   * @param {any} arrangement
   */
  solo(arrangement) {
    this.arrangement = arrangement;
    this.#sign();
    this.view?.solo(arrangement);
  }

  /**
   * What was touched on the sheet is explained; a mark has a story of its own, unless the slip is open.
   *
   * @param {import("./sheet.js").Tapped} tapped
   */
  async #touch(tapped) {
    if (this.open || tapped.verdict === null || tapped.verdict.verdict === "on time") {
      (await this.#fetched())?.touch(tapped);
    }
  }

  /** @returns {Promise<EditView | null>} null where it cannot be fetched */
  async #fetched() {
    if (this.view !== null || this.practice.playing) {
      return this.view;
    }
    try {
      const [{ EditView }] = await Promise.all([import("./edit.js"), styled("edit.css")]);
      if (this.view === null) {
        this.view = this.make(EditView);
        if (this.arrangement !== null) {
          this.view.solo(this.arrangement);
        }
      }
    } catch {
      this.say(TEXT.line.unreachable);
    }
    return this.view;
  }

  #sign() {
    const { state } = this.practice;
    const signs = signsOf(state !== null && state.digest === this.arrangement?.digest ? state.edits : undefined);
    this.paper.strip.sign(signs);
    drawSigns(this.paper.sheet.svg, signs);
  }
}
