/**
 * What is said of a measure in the slip: the sentences of its explanation, and of the place that is chosen.
 *
 * @module edit_told
 */

import { byId, element } from "./dom.js";
import { beatAt, pluckAt, syllable } from "./edit_measure.js";
import { Explanations, about, sentencesOf } from "./explain.js";
import { TEXT } from "./english.js";

/** @typedef {import("./edit_measure.js").Measure} Measure */
/** @typedef {import("./edit_measure.js").Spot} Spot */

/** The words of the slip. */
export class Told {
  /** @param {(url: string) => Promise<Response>} get */
  constructor(get) {
    this.explanations = new Explanations(get);
    this.view = byId("edit-told");
    /** @type {import("./explain.js").Sentence[]} */
    this.sentences = [];
    /** What is shown or being fetched. */
    this.wanted = "";
    /** @type {[Measure, Spot] | null} the place that is chosen */
    this.chosen = null;
  }

  /**
   * Shows what is said of a measure.
   *
   * @param {string} digest of the solo
   * @param {number} number of the measure
   */
  async measure(digest, number) {
    const wanted = `${digest} ${number}`;
    if (this.wanted === wanted) {
      return;
    }
    this.wanted = wanted;
    this.#show([], [TEXT.edit.explaining], "");
    try {
      const all = await this.explanations.of(digest);
      if (this.wanted === wanted) {
        const own = all.find((one) => one.number === number);
        const sentences = sentencesOf(all, number);
        this.#show(sentences, sentences.map(({ text }) => text), own === undefined ? "" : TEXT.edit.difficulty(own));
      }
    } catch (error) {
      if (this.wanted === wanted) {
        this.wanted = ""; // asked for again when the measure is shown again
        this.#show([], [TEXT.edit.unexplained(/** @type {Error} */ (error).message)], "");
      }
    }
  }

  /**
   * Says what stands at the chosen place, and which of the sentences are about it.
   *
   * @param {Measure | null} measure
   * @param {Spot | null} spot null for none
   */
  place(measure, spot) {
    this.chosen = measure === null || spot === null ? null : [measure, spot];
    this.#tell();
  }

  /**
   * @param {import("./explain.js").Sentence[]} sentences
   * @param {string[]} words
   * @param {string} difficulty
   */
  #show(sentences, words, difficulty) {
    this.sentences = sentences;
    const className = sentences.length === 0 ? "hint" : "";
    this.view.replaceChildren(...words.map((text) => element("p", { className }, text)));
    byId("edit-difficulty").textContent = difficulty;
    this.#tell();
  }

  #tell() {
    const [measure, spot] = this.chosen ?? [null, null];
    const pluck = measure === null ? null : pluckAt(measure, spot);
    this.sentences.forEach(({ plucks }, index) =>
      this.view.children[index].classList.toggle("of-it", pluck !== null && plucks.includes(pluck.id)),
    );
    if (measure === null) {
      byId("edit-about").replaceChildren();
      return;
    }
    const beat = TEXT.edit.counted(...beatAt(measure, spot.at));
    const words =
      pluck === null ? TEXT.edit.empty(beat, spot.string) : TEXT.edit.pluck(beat, pluck, syllable(measure, pluck.id));
    const said = pluck === null ? [] : about(this.sentences, pluck.id);
    byId("edit-about").replaceChildren(
      element("p", {}, words),
      ...said.map((text) => element("p", { className: "unseen" }, text)), // they stand below, marked
    );
  }
}
