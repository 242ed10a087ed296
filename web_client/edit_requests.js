/**
 * What is asked of the service while a solo is edited, one thing at a time, and what came of it.
 *
 * @module edit_requests
 */

import { TEXT } from "./english.js";

/** @typedef {import("./messages.js").Message} Message */
/** @typedef {import("./edit_measure.js").Spot} Spot */

/** Edits, undo and redo on their way. */
export class EditRequests {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {(message: Message) => boolean} ask
   * @param {(words: string, wrong: string) => void} say called with what is going on, and with what went wrong
   */
  constructor(practice, ask, say) {
    this.practice = practice;
    this.ask = ask;
    this.say = say;
    /** The solo on the sheet. */
    this.digest = "";
    /** @type {{does: string, digest: string, edits: string, next: Spot | null} | null} what was asked and is not done */
    this.pending = null;
    practice.on("failure", (failure) => failure.about === "edit" && this.#fail(failure.text));
    practice.on("line", (up) => !up && this.pending !== null && this.#fail(TEXT.edit.lost));
  }

  /** Whether nothing can be asked now: something is on its way, or the sheet is not the one at hand. */
  get busy() {
    return this.pending !== null || this.practice.state?.digest !== this.digest;
  }

  /**
   * Asks for an edit of a measure.
   *
   * @param {number} measure
   * @param {Record<string, any> & {does: string}} edit
   * @param {Spot | null} [next] where to look once it is done
   */
  edit(measure, edit, next = null) {
    this.#send(edit.does, { kind: "edit", digest: this.digest, measure, ...edit }, next);
  }

  /**
   * Takes the last edit back, or does it again, where there is one.
   *
   * @param {"undo" | "redo"} kind
   */
  again(kind) {
    if (this.practice.state?.edits[kind] === true) {
      this.#send(kind, { kind }, null);
    }
  }

  /**
   * The sheet of a solo is shown, or the state has come anew: what was asked is done once the edits, or the solo, are
   * others, and their sheet is here.
   *
   * @param {string} digest of the sheet
   * @returns {Spot | null} where to look now; null where nothing was done that tells it
   */
  shown(digest) {
    this.digest = digest;
    const { pending } = this;
    const { state } = this.practice;
    if (pending === null || state === null || state.digest !== digest) {
      return null;
    }
    if (digest === pending.digest && JSON.stringify(state.edits) === pending.edits) {
      return null;
    }
    this.pending = null;
    this.say(TEXT.edit.done[pending.does], "");
    return pending.next;
  }

  /** What comes of it is not waited for any more. */
  leave() {
    this.pending = null;
    this.say("", "");
  }

  /**
   * @param {string} does
   * @param {Message} message
   * @param {Spot | null} next
   */
  #send(does, message, next) {
    const { state } = this.practice;
    if (this.busy || state === null) {
      return;
    }
    this.pending = { does, digest: this.digest, edits: JSON.stringify(state.edits), next };
    this.say(TEXT.edit.writing, "");
    if (!this.ask(message)) {
      this.#fail(TEXT.edit.notNow);
    }
  }

  /** @param {string} words */
  #fail(words) {
    this.pending = null;
    this.say("", words);
  }
}
