/**
 * The pad: five strings by frets, for fingers and keys.
 *
 * A note is sent as a MIDI note-on, string n on channel n, stamped with the time of its own event. Where a chord shape is
 * held, the strings alone are picked, wherever they are touched, and sound at the frets of the shape.
 *
 * @module pad
 */

import { element } from "./dom.js";
import { PAD_KEYS, padLetter } from "./keyboard.js";
import { HIGHEST_FRET, OPEN_G, pitchAt } from "./neck.js";
import { TEXT } from "./english.js";

const VELOCITY = 96;
const NOTE_ON = 0x90;

/** Milliseconds for which a place that was played shows it. */
const SHOWN = 140;

/**
 * The bytes of a note.
 *
 * @param {number} string 1..5
 * @param {number} pitch MIDI
 * @returns {number[]}
 */
export function noteOn(string, pitch) {
  return [NOTE_ON | (string - 1), pitch, VELOCITY];
}

/** The pad on the page. */
export class Pad {
  /**
   * @param {HTMLElement} board
   * @param {(stamp: number, data: number[], place: {string: number, fret: number}) => void} onNote seconds on the page's
   *   clock, bytes, and where it was played
   */
  constructor(board, onNote) {
    this.board = board;
    this.onNote = onNote;
    /** As the sheet has it; open G until one says otherwise. */
    this.sheet = { strings: /** @type {Record<string, number>} */ (OPEN_G), capo: 0 };
    this.plain = false;
    /** @type {Map<string, HTMLButtonElement>} by `string fret` */
    this.cells = new Map();
    /** @type {Map<number, HTMLButtonElement>} by string: what is touched where a shape is held */
    this.strips = new Map();
    /** @type {Record<string, number | null> | null} the fret of each string, null for a silent one; null for an open neck */
    this.shape = null;
    /** @type {((place: {string: number, fret: number}) => void) | null} who gets the next place */
    this.picker = null;
    this.#build();
    board.addEventListener("pointerdown", (event) => this.#touch(event));
    board.addEventListener("click", (event) => event.detail === 0 && this.#touch(event)); // by a screen reader alone
  }

  /**
   * @param {any} arrangement the one on the sheet
   */
  tune(arrangement) {
    this.sheet = { strings: arrangement.tuning.strings, capo: arrangement.capo };
  }

  /** The open pitches of the strings, without capo. */
  get strings() {
    return this.plain ? OPEN_G : this.sheet.strings;
  }

  /** The fret of the capo. */
  get capo() {
    return this.plain ? 0 : this.sheet.capo;
  }

  /**
   * Has the neck in open G without a capo, whatever the sheet says, or follows the sheet again.
   *
   * @param {boolean} plain
   */
  inOpenG(plain) {
    this.plain = plain;
  }

  /**
   * Hands over the next place that is touched, or whose key is pressed, instead of playing it.
   *
   * Whoever asked before gets nothing any more.
   *
   * @param {(place: {string: number, fret: number}) => void} picker called once
   * @returns {() => void} takes the question back; does nothing once it was answered or another was asked
   */
  pick(picker) {
    this.#ask(picker);
    return () => {
      if (this.picker === picker) {
        this.#ask(null);
      }
    };
  }

  /**
   * Holds a chord shape, or lets it go. While a place is asked for, the neck is open all the same.
   *
   * @param {Record<string, number | null> | null} frets of strings `"1"` to `"5"`, null for a string that is not played
   */
  hold(frets) {
    this.shape = frets;
    for (const [string, strip] of this.strips) {
      const fret = frets?.[string] ?? null;
      strip.disabled = fret === null;
      strip.style.setProperty("--fret", String(string === 5 && fret === 0 ? 5 : (fret ?? 0))); // its nut
      const [name, mark] = strip.children;
      name.textContent = TEXT.pad.strip(string, fret, padLetter(string, 0));
      mark.textContent = fret === null ? "×" : String(fret);
    }
    this.#showHeld();
  }

  /**
   * Shows places that are being chosen.
   *
   * @param {Record<string, number | null>} frets by string; null for none
   */
  show(frets) {
    for (const cell of this.cells.values()) {
      cell.classList.toggle("chosen", frets[String(cell.dataset.string)] === Number(cell.dataset.fret));
    }
  }

  /**
   * Has the neck as a left-handed player sees it: the nut on the right.
   *
   * @param {boolean} left
   */
  mirror(left) {
    this.board.classList.toggle("mirrored", left);
  }

  /** @param {((place: {string: number, fret: number}) => void) | null} picker */
  #ask(picker) {
    this.picker = picker;
    this.board.classList.toggle("picking", picker !== null);
    this.#showHeld();
  }

  #showHeld() {
    this.board.classList.toggle("held", this.shape !== null && this.picker === null);
  }

  /**
   * The place of a string that is picked, as the shape has it.
   *
   * @param {number} string
   * @param {number} fret where it was touched
   * @returns {number | null} null where the string is not played
   */
  #fretOf(string, fret) {
    return this.shape === null || this.picker !== null ? fret : this.shape[string];
  }

  /**
   * Plays what a key stands for.
   *
   * @param {KeyboardEvent} event
   * @returns {boolean} whether the key belongs to the pad
   */
  key(event) {
    const place = PAD_KEYS.get(event.code);
    if (place === undefined) {
      return false;
    }
    if (!event.repeat) {
      const fret = this.#fretOf(place.string, place.fret);
      if (fret !== null) {
        this.#play(place.string, fret, event.timeStamp);
      }
    }
    return true;
  }

  /** @param {MouseEvent} event */
  #touch(event) {
    const cell = /** @type {HTMLElement} */ (event.target).closest("button");
    if (cell === null || event.button !== 0) {
      return;
    }
    event.preventDefault(); // the focus stays where it is, so that the keys go on working
    const string = Number(cell.dataset.string);
    const fret = this.#fretOf(string, Number(cell.dataset.fret));
    if (fret !== null) {
      this.#play(string, fret, event.timeStamp);
    }
  }

  /**
   * @param {number} string
   * @param {number} fret
   * @param {number} timeStamp milliseconds on the page's clock
   */
  #play(string, fret, timeStamp) {
    const picker = this.picker;
    if (picker === null) {
      this.onNote(timeStamp / 1000, noteOn(string, pitchAt(this.strings, this.capo, string, fret)), { string, fret });
    } else {
      this.#ask(null);
      picker({ string, fret });
    }
    const touched = this.board.matches(".held") ? this.strips.get(string) : this.cells.get(`${string} ${fret}`);
    touched?.classList.add("played");
    setTimeout(() => touched?.classList.remove("played"), SHOWN);
  }

  #build() {
    for (let string = 1; string <= 5; string += 1) {
      const row = element("div", { className: "pad-row", role: "group", "aria-label": TEXT.pad.string(string) });
      row.append(element("span", { className: "pad-string", "aria-hidden": "true" }, String(string)));
      for (let fret = 0; fret <= HIGHEST_FRET; fret += 1) {
        if (string === 5 && fret >= 1 && fret <= 5) {
          continue; // the fifth string begins at the fifth fret
        }
        row.append(this.#cell(string, fret));
      }
      row.append(this.#strip(string));
      this.board.append(row);
    }
  }

  /** @param {number} string */
  #strip(string) {
    const strip = element(
      "button",
      { type: "button", className: "pad-strip", tabIndex: -1 },
      element("span", { className: "unseen" }),
      element("span", { className: "pad-stop", "aria-hidden": "true" }),
      element("kbd", { "aria-hidden": "true" }, padLetter(string, 0)),
    );
    strip.dataset.string = String(string);
    this.strips.set(string, strip);
    return strip;
  }

  /**
   * @param {number} string
   * @param {number} fret
   */
  #cell(string, fret) {
    const letter = padLetter(string, fret);
    const cell = element(
      "button",
      { type: "button", className: "pad-cell", tabIndex: -1 },
      element("span", { className: "unseen" }, TEXT.pad.place(string, fret, letter)),
      element("span", { className: "pad-fret", "aria-hidden": "true" }, String(fret)),
      element("kbd", { "aria-hidden": "true" }, letter),
    );
    cell.dataset.string = String(string);
    cell.dataset.fret = String(fret);
    cell.classList.toggle("pad-drone", string === 5 && fret === 0);
    cell.classList.toggle("pad-high", fret > 5);
    this.cells.set(`${string} ${fret}`, cell);
    return cell;
  }
}
