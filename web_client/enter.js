/**
 * Writing a tune down: step by step or in time, on the pad or on the instrument, and giving it to the tune book.
 *
 * What is written is kept on the device with every step, until something else is begun.
 *
 * @module enter
 */

import { nameOf } from "./abc_names.js";
import { abcOf, fileName } from "./abc_tune.js";
import { byId, element } from "./dom.js";
import { EnterChords } from "./enter_chords.js";
import { EnterForm } from "./enter_form.js";
import { isEcho } from "./enter_grid.js";
import { History } from "./enter_history.js";
import { EnterKeys } from "./enter_keys.js";
import { EnterScore } from "./enter_score.js";
import { InTime } from "./enter_time.js";
import {
  EMPTY, LENGTHS, MOST_NOTES, choiceOf, chordAt, countedBeat, heldOn, inserted, lengthOf, measureOf, placeOf, readDraft,
  removed, replaced, startsOf,
} from "./enter_tune.js";
import { OPEN_G } from "./neck.js";
import { TEXT } from "./english.js";
import { Refused, give } from "./give.js";

/** @typedef {import("./enter_tune.js").Draft} Draft */
/** @typedef {import("./enter_time.js").Note} Note */

const KEPT = "tune-draft";

/** The part of the paper on which a tune is written down. */
export class EnterView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./player.js").Player} player
   * @param {{send: (message: import("./messages.js").Message) => boolean, change: (settings: Record<string, any>) => void,
   *   opened: (open: boolean) => void, told: (words: string) => void}} outside sends to the service, changes the settings,
   *   is told when this opens and closes, and what is to be said once it has closed
   */
  constructor(practice, player, outside) {
    this.practice = practice;
    this.outside = outside;
    this.section = byId("enter");
    this.words = byId("enter-words");
    this.open = false;
    /** How long the next note will be. */
    this.next = { plain: 48, dotted: false, triplet: false };
    /** @type {Note | null} the last that the instrument sent */
    this.before = null;
    /** The field that is being typed into: its letters are one step. */
    this.typed = "";
    /** Whether it is on its way to the tune book. */
    this.giving = false;
    const draft = readDraft(kept());
    this.history = new History({ draft, at: draft.notes.length });
    this.form = new EnterForm(() => this.draft, {
      change: (changed) => this.#do(changed),
      type: (name, value) => this.#type(name, value),
    });
    this.score = new EnterScore(byId("enter-score"), (index) => this.choose(index));
    this.chords = new EnterChords((change) => this.#do(change(this.draft)), (words) => this.#say(words, true));
    this.inTime = new InTime(player, (notes, lateMs) => this.#taken(notes, lateMs));
    new EnterKeys(this);
    this.#fill();
    this.#listen();
    practice.on("played", ({ stamp, pitch, string, velocity }) =>
      this.hear({ stamp: stamp - (practice.state?.latency_ms ?? 0) / 1000, pitch, string, fret: null, velocity }),
    );
    practice.on("hello", () => this.open && outside.send({ kind: "enter", on: true }));
    practice.on("state", () => practice.playing && this.show(false));
    new ResizeObserver(() => this.open && this.#draw()).observe(byId("enter-score"));
  }

  /** @returns {Draft} */
  get draft() {
    return this.history.now.draft;
  }

  /** The index of the note that is chosen; the number of notes for the place behind the last. */
  get at() {
    return Math.min(this.history.now.at, this.draft.notes.length);
  }

  /** @param {boolean} open */
  show(open) {
    if (open === this.open) {
      return;
    }
    this.open = open;
    this.inTime.stop();
    this.section.hidden = !open;
    document.body.classList.toggle("writing", open);
    byId("open-enter").setAttribute("aria-expanded", String(open));
    this.outside.send({ kind: "enter", on: open });
    this.outside.opened(open);
    window.scrollTo(0, 0);
    if (open) {
      this.#say("");
      this.#draw();
      byId("enter-head").focus();
    }
  }

  /**
   * A note of the pad.
   *
   * @param {Note} note
   * @returns {boolean} whether it was taken to be written down
   */
  take(note) {
    if (this.open && this.inTime.on) {
      this.inTime.hear(note);
    } else if (this.open) {
      this.#write(note.pitch, note.string, note.fret);
    }
    return this.open;
  }

  /**
   * A note of an instrument, which may send it twice.
   *
   * @param {Note} note
   */
  hear(note) {
    if (this.open && !isEcho(this.before, note)) {
      this.take(note);
    }
    this.before = note;
  }

  // ------------------------------------------------------------------------------------------------ what can be done

  /** Puts a rest in. */
  rest() {
    this.#write(null, null, null);
  }

  /** Holds the note that is chosen, or the last one, on for the chosen length. */
  hold() {
    const index = this.at === this.draft.notes.length ? this.at - 1 : this.at;
    if (this.draft.notes[index]?.pitch != null) {
      const { length, triplet } = this.#length();
      this.#do(heldOn(this.draft, index, { length, triplet }), index + 2);
    }
  }

  /** Takes out the note that is chosen, or the last one. */
  remove() {
    const index = this.at === this.draft.notes.length ? this.at - 1 : this.at;
    if (index >= 0) {
      this.#do(removed(this.draft, index), index);
    }
  }

  /** Puts one more of the note that is chosen before it. */
  insert() {
    const note = this.draft.notes[this.at];
    if (note !== undefined) {
      const { length, triplet } = this.#length();
      this.#do(inserted(this.draft, this.at, { ...note, length, triplet, tied: false }), this.at);
    }
  }

  undo() {
    this.typed = "";
    this.history.undo();
    this.#changed();
  }

  redo() {
    this.typed = "";
    this.history.redo();
    this.#changed();
  }

  /** @param {number} index of a note, or the number of notes for the place behind the last */
  choose(index) {
    const at = Math.max(0, Math.min(index, this.draft.notes.length));
    this.history.go({ draft: this.draft, at });
    this.next = (at < this.draft.notes.length && choiceOf(this.draft.notes[at])) || this.next;
    this.#changed();
  }

  /** @param {number} by steps to the shorter lengths */
  shorter(by) {
    const index = LENGTHS.indexOf(this.next.plain) + by;
    this.#setLength({ ...this.next, plain: LENGTHS[Math.max(0, Math.min(LENGTHS.length - 1, index))] });
  }

  dot() {
    this.#setLength({ ...this.next, dotted: !this.next.dotted, triplet: false });
  }

  three() {
    this.#setLength({ ...this.next, triplet: !this.next.triplet, dotted: false });
  }

  /** Begins to take down what is played to the click, or ends it. */
  record() {
    if (this.inTime.on) {
      this.inTime.stop();
    } else if (!this.practice.playing) {
      this.#say("");
      void this.inTime.start(this.draft);
    }
  }

  #length() {
    const { plain, dotted, triplet } = this.next;
    return { length: lengthOf(plain, { dotted: dotted && plain > 12, triplet: triplet && plain < 192 }), triplet: triplet && plain < 192 };
  }

  /** @param {{plain: number, dotted: boolean, triplet: boolean}} next */
  #setLength(next) {
    this.next = next;
    if (this.at < this.draft.notes.length) {
      this.#do(replaced(this.draft, this.at, this.#length()));
    } else {
      this.#draw();
    }
  }

  /**
   * @param {number | null} pitch null for a rest
   * @param {number | null} string
   * @param {number | null} fret
   */
  #write(pitch, string, fret) {
    const { at, draft } = this;
    if (at < draft.notes.length) {
      this.#do(replaced(draft, at, { pitch, string, fret }));
      return;
    }
    this.score.reveal(byId("foot").getBoundingClientRect().top);
    const longer = inserted(draft, at, { pitch, string, fret, tied: false, ...this.#length() });
    this.#do(longer, at + 1);
    if (longer === draft) {
      this.#say(TEXT.enter.full, true);
    }
  }

  /**
   * @param {Draft} draft
   * @param {number} [at] the note that is chosen then
   */
  #do(draft, at = this.at) {
    this.typed = "";
    this.history.go({ draft, at });
    this.#say("");
    this.#changed();
  }

  /**
   * @param {"title" | "words"} name of the field
   * @param {string} value
   */
  #type(name, value) {
    const step = { draft: { ...this.draft, [name]: value }, at: this.at };
    if (this.typed === name) {
      this.history.amend(step);
    } else {
      this.history.go(step); // a step of its own, so that undo takes back no more than it
    }
    this.typed = name;
    this.#changed();
  }

  /**
   * @param {import("./enter_tune.js").DraftNote[]} notes that were played
   * @param {number} lateMs
   */
  #taken(notes, lateMs) {
    if (notes.length === 0) {
      this.#say(TEXT.enter.tookNone);
      return;
    }
    this.#do({ ...this.draft, notes }, notes.length);
    const took = TEXT.enter.took(notes.filter(({ pitch, tied }) => pitch !== null && !tied).length, lateMs);
    this.#say(notes.length < MOST_NOTES ? took : `${took} ${TEXT.enter.full}`);
  }

  async #give() {
    const { draft } = this;
    if (this.giving) {
      return;
    }
    if (!draft.notes.some(({ pitch }) => pitch !== null)) {
      this.#say(TEXT.enter.noNotes, true);
      return;
    }
    if (draft.title.trim() === "") {
      this.#say(TEXT.enter.noTitle, true);
      this.form.askForTitle();
      return;
    }
    this.#say(TEXT.enter.giving);
    this.giving = true;
    try {
      const [abc, name] = [abcOf(draft, TEXT.enter.untitled), fileName(draft, TEXT.enter.untitled)];
      const { id, title, complaints } = await give(new File([abc], name, { type: "text/vnd.abc" }));
      this.show(false);
      this.outside.change({ tune: id });
      this.outside.told(TEXT.enter.given(title, complaints));
    } catch (error) {
      this.#say(error instanceof Refused ? error.message : TEXT.enter.notGiven, true);
    }
    this.giving = false;
  }

  // ------------------------------------------------------------------------------------------------ what is seen

  /**
   * @param {string} words
   * @param {boolean} [wrong]
   */
  #say(words, wrong = false) {
    this.words.textContent = words;
    this.words.classList.toggle("wrong", wrong);
  }

  /** Something was done: it is kept, and shown. */
  #changed() {
    try {
      localStorage.setItem(KEPT, JSON.stringify(this.draft));
    } catch {
      // storage is refused: it is there until the page is closed
    }
    this.#draw();
  }

  #draw() {
    const { at, draft } = this;
    this.form.show(draft);
    const chosen = draft.notes[at];
    for (const radio of byId("enter-steps").querySelectorAll("input[type=radio]")) {
      radio.checked = Number(radio.value) === this.next.plain;
    }
    byId("enter-dot").setAttribute("aria-pressed", String(this.next.dotted));
    byId("enter-three").setAttribute("aria-pressed", String(this.next.triplet));
    byId("enter-undo").disabled = !this.history.canUndo;
    byId("enter-redo").disabled = !this.history.canRedo;
    byId("enter-insert").disabled = chosen === undefined;
    byId("enter-remove").disabled = draft.notes.length === 0;
    byId("enter-abc").textContent = abcOf(draft, TEXT.enter.untitled);
    const start = startsOf(draft)[at];
    const { measure, within } = placeOf(draft, start);
    const place = { measure, beat: countedBeat(within, draft.meter) };
    byId("enter-place").textContent =
      chosen === undefined
        ? TEXT.enter.next(place, TEXT.enter.length(this.next.plain, this.next))
        : TEXT.enter.chosen(place, TEXT.enter.what(chosen.pitch === null ? "" : nameOf(draft, chosen.pitch % 12), chordAt(draft, start)));
    this.chords.show(draft, at);
    if (this.open) {
      const measures = Math.ceil(startsOf(draft)[draft.notes.length] / measureOf(draft.meter));
      this.score.show(draft, OPEN_G, at, TEXT.enter.picture(draft.notes.length, measures));
    }
  }

  #fill() {
    byId("enter-lengths").append(
      ...LENGTHS.map((length) =>
        element(
          "label",
          {},
          element("input", { type: "radio", name: "enter-length", value: String(length) }),
          element("span", {}, TEXT.enter.lengths[length]),
        ),
      ),
    );
  }

  #listen() {
    byId("enter-close").addEventListener("click", () => {
      this.show(false);
      byId("open-enter").focus();
    });
    byId("enter-lengths").addEventListener("change", (/** @type {Event} */ event) =>
      this.#setLength({ ...this.next, plain: Number(/** @type {HTMLInputElement} */ (event.target).value) }),
    );
    const buttons = /** @type {const} */ ({
      "enter-dot": () => this.dot(), "enter-three": () => this.three(), "enter-rest": () => this.rest(),
      "enter-hold": () => this.hold(), "enter-insert": () => this.insert(), "enter-remove": () => this.remove(),
      "enter-undo": () => this.undo(), "enter-redo": () => this.redo(), "enter-record": () => this.record(),
      "enter-end": () => this.choose(this.draft.notes.length), "enter-give": () => void this.#give(),
      "enter-new": () => {
        this.#do(EMPTY, 0);
        this.#say(TEXT.enter.cleared);
      },
    });
    for (const [id, run] of Object.entries(buttons)) {
      byId(id).addEventListener("click", run);
    }
  }
}

/** @returns {string | null} the draft that was kept */
function kept() {
  try {
    return localStorage.getItem(KEPT);
  } catch {
    return null; // storage is refused
  }
}
