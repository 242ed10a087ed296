/**
 * Where the pass is, shown picture by picture while it goes on.
 *
 * @module place
 */

import { now } from "./clock.js";
import { countAt, measureAt } from "./moving.js";
import { TEXT } from "./texts.js";

/** The measure that is played, on sheet and strip, and in words beside the buttons. */
export class PlaceView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./sheet.js").Sheet} sheet
   * @param {import("./strip.js").Strip} strip
   * @param {import("./transport.js").Transport} transport
   */
  constructor(practice, sheet, strip, transport) {
    this.practice = practice;
    this.sheet = sheet;
    this.strip = strip;
    this.transport = transport;
    /** When position 0 of the pass is heard, on the page's clock; null while that is not known. */
    this.origin = /** @type {number | null} */ (null);
    this.drawing = false;
  }

  /** Shows it from now on until the pass is over. */
  show() {
    if (!this.drawing) {
      this.drawing = true;
      this.#draw();
    }
  }

  /** One picture. Everything in it uses the same moment. */
  #draw() {
    const { begin, playing } = this.practice;
    if (!playing || begin === null) {
      this.#at(null);
      this.drawing = false;
      return;
    }
    if (begin.free) {
      const measure = this.practice.place?.measure ?? null;
      this.#at(measure);
      this.transport.say(measure === null ? TEXT.free.begin : TEXT.transport.measure(measure, begin.last));
    } else if (this.origin !== null) {
      const seconds = now() - this.origin;
      const measure = measureAt(begin.positions, seconds, begin.length);
      this.#at(measure);
      if (begin.learning && seconds >= 0) {
        this.transport.say(TEXT.learn.note(begin, seconds));
      } else if (seconds < 0) {
        this.transport.say(TEXT.transport.count(countAt(begin, seconds)));
      } else if (measure !== null) {
        this.transport.say(TEXT.transport.measure(measure, begin.last));
      }
    }
    requestAnimationFrame(() => this.#draw());
  }

  /** @param {number | null} measure */
  #at(measure) {
    this.sheet.shade(measure);
    this.strip.sound(measure);
  }
}
