/**
 * The licks of the studio: what they are, brought by a file, and taken out again.
 *
 * @module desk_licks
 */

import { ask } from "./asked.js";
import { DESK } from "./desk_english.js";
import { byId, element } from "./dom.js";

/** @typedef {{id: string, name: string, chord: string, slots: string, use?: string, tuning?: string}} Lick */

/** The licks, in the view "Tunes". */
export class LicksView {
  constructor() {
    this.words = byId("licks-words");
    const field = byId("licks-file");
    field.addEventListener("change", () => {
      void this.#bring(field.files[0]);
      field.value = "";
    });
  }

  /** Asks anew. */
  async renew() {
    try {
      const { licks } = await ask("licks.json");
      byId("licks-none").hidden = licks.length > 0;
      byId("licks").replaceChildren(...licks.map((/** @type {Lick} */ lick) => this.#item(lick)));
    } catch (error) {
      this.#say([/** @type {Error} */ (error).message]);
    }
  }

  /** @param {Lick} lick as its file has it: what is as usual is left out there */
  #item({ id, name, chord, slots, use = "fill", tuning = "open G" }) {
    const withdraw = element(
      "button",
      { type: "button", className: "quiet", "aria-label": DESK.tunes.withdrawLong(name) },
      DESK.tunes.withdraw,
    );
    withdraw.addEventListener("click", async () => {
      try {
        await ask(`licks/${id}/withdraw`, {});
        this.#say([DESK.tunes.lickGone(name)]);
      } catch (error) {
        this.#say([/** @type {Error} */ (error).message]);
      }
      await this.renew();
      byId("licks-file").focus(); // what was pressed is gone
    });
    const words = element(
      "div",
      {},
      element("p", {}, name),
      element("p", { className: "hint" }, DESK.tunes.lick({ chord, use, tuning })),
      element("p", { className: "hint slots" }, slots),
    );
    return element("li", { className: "row" }, words, withdraw);
  }

  /** @param {File} file */
  async #bring(file) {
    /** @type {Lick[] | undefined} */
    let licks;
    try {
      licks = JSON.parse(await file.text()).licks;
    } catch {
      licks = undefined;
    }
    if (!Array.isArray(licks) || licks.length === 0) {
      this.#say([DESK.tunes.noLicks(file.name)]);
      return;
    }
    const came = [];
    for (const lick of licks) {
      try {
        await ask("licks", lick);
        came.push(DESK.tunes.lickKept(lick.name));
      } catch (error) {
        came.push(/** @type {Error} */ (error).message);
      }
    }
    this.#say(came);
    await this.renew();
  }

  /** @param {string[]} sentences */
  #say(sentences) {
    this.words.replaceChildren(...sentences.map((sentence) => element("p", {}, sentence)));
  }
}
