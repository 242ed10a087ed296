/**
 * The tune book: the list of tunes, a field to find one by, files that are brought, and the tiers that are worked out.
 *
 * @module book
 */

import { LONG, MOST_FOUND, byTitle, found, tiersToCome } from "./book_list.js";
import { byId, element } from "./dom.js";
import { TEXT } from "./english.js";
import { Refused, give } from "./give.js";

/** @typedef {import("./messages.js").TuneLine} TuneLine */

/** The book's part of the form in the margin. */
export class BookView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(settings: Record<string, any>) => void} change
   * @param {(words: string) => void} say told of files that did not come in: they may have been dropped far from the list
   */
  constructor(practice, change, say) {
    this.practice = practice;
    this.change = change;
    this.say = say;
    this.form = byId("chooser");
    this.finder = byId("book-finder");
    this.field = byId("book-field");
    this.list = byId("book-found");
    this.words = byId("upload-words");
    this.field.addEventListener("input", () => this.#find());
    this.field.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => this.#press(event));
    this.#listenForFiles();
    practice.on("tunes", () => this.#showTunes());
    practice.on("state", () => this.#showState());
  }

  // -------------------------------------------------------------------------------------------- the list

  #showTunes() {
    const tunes = byTitle(this.practice.tunes);
    const option = (/** @type {TuneLine} */ tune) => element("option", { value: tune.id }, TEXT.book.tune(tune));
    const own = tunes.filter((tune) => !tune.study).map(option);
    const studies = tunes.filter((tune) => tune.study).map(option);
    this.form.elements.tune.replaceChildren(
      ...(studies.length === 0
        ? own
        : [
            element("optgroup", { label: TEXT.book.tunes }, ...own),
            element("optgroup", { label: TEXT.book.studies }, ...studies),
          ]),
    );
    this.finder.hidden = tunes.length <= LONG;
    this.#find();
    this.#showState();
  }

  #showState() {
    const { state } = this.practice;
    if (state === null) {
      return;
    }
    this.form.elements.tune.value = state.tune;
    const toCome = tiersToCome(state, this.practice.isStudy(state.tune));
    for (const radio of this.form.elements.tier) {
      const name = radio.nextElementSibling;
      const wanted = toCome.includes(radio.value);
      if (wanted !== (name.querySelector("small") !== null)) {
        name.querySelector("small")?.remove();
        name.append(...(wanted ? [element("small", {}, TEXT.book.toCome)] : []));
      }
      radio.parentElement.classList.toggle("to-come", wanted);
    }
  }

  /** Shows the tunes that have what was typed. */
  #find() {
    const { tunes } = this.practice;
    const all = this.finder.hidden ? [] : found(byTitle(tunes), this.field.value);
    const shown = all.slice(0, MOST_FOUND);
    const typed = !this.finder.hidden && this.field.value.trim() !== "";
    byId("book-count").textContent = typed ? TEXT.book.found(all.length, tunes.length, shown.length) : "";
    this.list.replaceChildren(
      ...shown.map((tune) => {
        const button = element("button", { type: "button", className: "quiet" }, TEXT.book.tune(tune));
        button.addEventListener("click", () => this.#choose(tune.id));
        return element("li", {}, button);
      }),
    );
  }

  /** @param {KeyboardEvent} event Enter takes the first that was found, Escape leaves */
  #press(event) {
    if (event.key === "Enter") {
      event.preventDefault();
      this.list.querySelector("button")?.click();
    } else if (event.key === "Escape" && this.field.value !== "") {
      event.preventDefault();
      this.field.value = "";
      this.#find();
    }
  }

  /** @param {string} tune */
  #choose(tune) {
    this.field.value = "";
    this.#find();
    this.form.elements.tune.focus(); // what had the focus is gone
    this.change({ tune, ...(this.practice.isStudy(tune) ? { jam: false } : {}) });
  }

  // -------------------------------------------------------------------------------------------- files

  #listenForFiles() {
    const field = this.form.elements.file;
    field.addEventListener("change", () => {
      void this.#bring([...field.files]);
      field.value = "";
    });
    const drop = byId("drop");
    document.addEventListener("dragover", (event) => {
      if (event.dataTransfer?.types.includes("Files")) {
        event.preventDefault();
        drop.classList.add("over");
      }
    });
    document.addEventListener("dragleave", () => drop.classList.remove("over"));
    document.addEventListener("drop", (event) => {
      drop.classList.remove("over");
      const files = [...(event.dataTransfer?.files ?? [])];
      if (files.length > 0) {
        event.preventDefault();
        void this.#bring(files);
      }
    });
  }

  /**
   * Brings files into the book, one after another, and chooses the first tune that came.
   *
   * @param {File[]} files
   */
  async #bring(files) {
    const lines = files.map((file) => element("p", {}, TEXT.book.reading(file.name)));
    this.words.replaceChildren(...lines);
    /** @type {string | null} */
    let first = null;
    const refused = [];
    for (const [index, file] of files.entries()) {
      const { id, words } = await sent(file);
      lines[index].textContent = words;
      lines[index].classList.toggle("wrong", id === null);
      first ??= id;
      if (id === null) {
        refused.push(words);
      }
    }
    if (first !== null) {
      this.change({ tune: first });
    }
    if (refused.length > 0) {
      this.say(refused.join(" "));
    }
  }
}

/**
 * Gives a file to the service.
 *
 * @param {File} file
 * @returns {Promise<{id: string | null, words: string}>} its first tune, null where none came in, and what is said of it
 */
async function sent(file) {
  try {
    const told = await give(file);
    return { id: told.id, words: TEXT.book.added(told, file.name) };
  } catch (error) {
    const refused = error instanceof Refused;
    return { id: null, words: refused ? TEXT.book.refused(file.name, error.message) : TEXT.book.notSent(file.name) };
  }
}
