/**
 * The tune book of the studio: what is in it and for whom, files that are brought, and licks.
 *
 * @module desk_tunes
 */

import { ask, trying } from "./asked.js";
import { LONG, byTitle, found } from "./book_list.js";
import { DESK } from "./desk_english.js";
import { byId, element } from "./dom.js";
import { TEXT } from "./english.js";
import { Refused, give } from "./give.js";

/**
 * @typedef {import("./messages.js").TuneLine & {common: boolean, shared: boolean, students: string[]}} Tune
 * `common` to all studios, `shared` with all of this one, else of the students who brought it, by their ids.
 */

/** The view "Tunes". */
export class TunesView {
  constructor() {
    /** @type {Tune[]} */
    this.tunes = [];
    /** @type {Map<string, string>} names by id */
    this.names = new Map();
    /** The tune of which it was asked whether it is to be withdrawn. */
    this.doubtful = "";
    this.words = byId("tunes-words");
    this.field = byId("tunes-field");
    this.field.addEventListener("input", () => this.#show());
    const files = byId("tunes-files");
    files.addEventListener("change", () => {
      void this.#bring([...files.files]);
      files.value = "";
    });
    const drop = byId("tunes-drop");
    const carries = (/** @type {DragEvent} */ event) => event.dataTransfer?.types.includes("Files") === true;
    drop.addEventListener("dragover", (/** @type {DragEvent} */ event) => {
      if (carries(event)) {
        event.preventDefault();
        drop.classList.add("over");
      }
    });
    drop.addEventListener("dragleave", () => drop.classList.remove("over"));
    drop.addEventListener("drop", (/** @type {DragEvent} */ event) => {
      event.preventDefault();
      drop.classList.remove("over");
      void this.#bring([...(event.dataTransfer?.files ?? [])]);
    });
  }

  /** Shows the book as it is now. */
  async open() {
    this.words.textContent = "";
    this.doubtful = "";
    await this.renew();
  }

  /** Asks anew. */
  async renew() {
    await trying(this.words, async () => {
      const [{ tunes }, { people }] = await Promise.all([ask("tunes.json"), ask("studio.json")]);
      this.tunes = /** @type {Tune[]} */ (byTitle(tunes));
      this.names = new Map(people.map((/** @type {{id: string, name: string}} */ { id, name }) => [id, name]));
      this.#show();
    });
  }

  #show() {
    byId("tunes-finder").hidden = this.tunes.length <= LONG;
    const typed = byId("tunes-finder").hidden ? "" : this.field.value;
    const shown = typed.trim() === "" ? this.tunes : /** @type {Tune[]} */ (found(this.tunes, typed));
    byId("tunes-count").textContent = typed.trim() === "" ? "" : DESK.tunes.count(shown.length, this.tunes.length);
    const none = this.tunes.length === 0 ? [element("li", { className: "hint" }, DESK.tunes.none)] : [];
    byId("tunes-list").replaceChildren(...none, ...shown.map((tune) => this.#item(tune)));
  }

  /** @param {Tune} tune */
  #item(tune) {
    const { id, title, common, shared, students, study } = tune;
    const whose = study ? DESK.tunes.study : common ? DESK.tunes.common : shared ? DESK.tunes.own : DESK.tunes.of(this.#named(students));
    const words = element("div", {}, element("p", {}, title), element("p", { className: "hint" }, `${DESK.tunes.facts(tune)} · ${whose}`));
    return element("li", { className: shared ? "row" : "row of-a-student" }, words, ...(common ? [] : [this.#ways(id, title, shared)]));
  }

  /** @param {string[]} students */
  #named(students) {
    return DESK.named(students.map((id) => this.names.get(id) ?? id));
  }

  /**
   * What can be done with a tune of the studio.
   *
   * @param {string} id
   * @param {string} title
   * @param {boolean} shared
   */
  #ways(id, title, shared) {
    const button = (/** @type {string} */ words, /** @type {string} */ aloud, /** @type {() => void} */ run) => {
      const made = element("button", { type: "button", className: "quiet", "aria-label": aloud }, words);
      made.addEventListener("click", run);
      return made;
    };
    const again = (/** @type {string} */ doubtful) => {
      this.doubtful = doubtful;
      this.#show();
      byId("tunes-list").querySelector(doubtful === "" ? `[data-withdraw="${CSS.escape(id)}"]` : "[data-sure]")?.focus();
    };
    if (this.doubtful === id) {
      const yes = button(DESK.tunes.yes, `${DESK.tunes.yes}: ${title}`, () => void this.#done(id, "withdraw", DESK.tunes.withdrawn(title)));
      yes.dataset.sure = "";
      return element("div", { className: "buttons", role: "group", "aria-label": DESK.tunes.sure(title) }, yes, button(DESK.tunes.no, DESK.tunes.no, () => again("")));
    }
    const withdraw = button(DESK.tunes.withdraw, DESK.tunes.withdrawLong(title), () => again(id));
    withdraw.dataset.withdraw = id;
    const share = () => button(DESK.tunes.share, DESK.tunes.shareLong(title), () => void this.#done(id, "share", DESK.tunes.shared(title)));
    return element("div", { className: "buttons" }, ...(shared ? [] : [share()]), withdraw);
  }

  /**
   * @param {string} id
   * @param {"withdraw" | "share"} what
   * @param {string} words when it is done
   */
  async #done(id, what, words) {
    await trying(this.words, async () => {
      await ask(`tunes/${encodeURIComponent(id)}/${what}`, {});
      this.doubtful = "";
      await this.renew();
      this.words.textContent = words;
      byId("tunes-head").focus(); // what was pressed is gone
    });
  }

  /** @param {File[]} files brought one after another */
  async #bring(files) {
    const lines = files.map((file) => element("p", {}, TEXT.book.reading(file.name)));
    byId("tunes-brought").replaceChildren(...lines);
    for (const [index, file] of files.entries()) {
      try {
        lines[index].textContent = TEXT.book.added(await give(file), file.name);
      } catch (error) {
        const refused = error instanceof Refused;
        lines[index].textContent = refused ? TEXT.book.refused(file.name, error.message) : TEXT.book.notSent(file.name);
        lines[index].classList.add("wrong");
      }
    }
    await this.renew();
  }
}
