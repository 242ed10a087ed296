/**
 * Where the pass is, shown picture by picture while it goes on.
 *
 * @module place
 */

import { now } from "./clock.js";
import { countAt, placeAt, writtenAt } from "./moving.js";
import { TEXT } from "./english.js";
import { fraction } from "./written.js";

/**
 * @typedef {{seconds: () => number | null, positions: [number, number][], length: number, digest: string,
 *   bounce: number}} Source
 * Something that sounds and is followed on the sheet: seconds from its position 0 (null while that is not known), where
 * its measures begin and where it ends, as in a `begin`; the solo of which it is, and its bounce in percent.
 */

/** Steady motion from slot to slot is too much for who wants little: the mark goes from beat to beat then. */
const LITTLE = "(prefers-reduced-motion: reduce)";

/** The place that is played, on sheet and strip, and in words beside the buttons. */
export class PlaceView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./sheet.js").Sheet} sheet
   * @param {import("./strip.js").Strip} strip
   * @param {{say: (words: string) => void}} transport told in words where it is
   */
  constructor(practice, sheet, strip, transport) {
    this.practice = practice;
    this.sheet = sheet;
    this.strip = strip;
    this.transport = transport;
    /** When position 0 of the pass is heard, on the page's clock; null while that is not known. */
    this.origin = /** @type {number | null} */ (null);
    this.drawing = false;
    /** The bounce of the pass, which counts from its begin. */
    this.bounce = 50;
    /** @type {Source | null} what is followed while no pass is played */
    this.source = null;
    /** Whether the player has scrolled since then: the page is left where it is. */
    this.byHand = false;
    for (const turned of /** @type {const} */ (["wheel", "touchmove"])) {
      window.addEventListener(turned, () => (this.byHand = true), { passive: true });
    }
    this.little = matchMedia(LITTLE);
    practice.on("begin", ({ again }) => {
      if (!again) {
        this.bounce = practice.state?.bounce ?? 50;
      }
    });
  }

  /**
   * Has the mark go along with something that sounds, whenever no pass is played.
   *
   * @param {Source | null} source null for nothing more
   */
  follow(source) {
    this.source = source;
    this.byHand = false;
    this.show();
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
    if (playing && begin !== null) {
      this.#drawPass(begin);
    } else if (this.source !== null) {
      const seconds = this.source.seconds();
      const place = seconds === null ? null : this.#placeOf(this.source, seconds);
      if (place !== null && place.measure !== this.sheet.sounding && !this.byHand) {
        this.sheet.stand.follow(place.measure);
      }
      this.#at(place);
    } else {
      this.#at(null);
      this.drawing = false;
      return;
    }
    requestAnimationFrame(() => this.#draw());
  }

  /** @param {import("./messages.js").Begin} begin */
  #drawPass(begin) {
    if (begin.free) {
      const measure = this.practice.place?.measure ?? null;
      this.#at(measure === null ? null : { measure, at: null, share: 1, next: null });
      this.transport.say(measure === null ? TEXT.free.begin : TEXT.transport.measure(measure, begin.last));
      return;
    }
    if (this.origin === null) {
      return;
    }
    const seconds = now() - this.origin;
    const place = this.#placeOf({ ...begin, bounce: this.bounce }, seconds);
    this.#at(place);
    if (begin.learning && seconds >= 0) {
      this.transport.say(TEXT.learn.note(begin, seconds));
    } else if (seconds < 0) {
      this.transport.say(TEXT.transport.count(countAt(begin, seconds)));
    } else if (place !== null) {
      this.transport.say(TEXT.transport.measure(place.measure, begin.last));
    }
  }

  /**
   * The slot that sounds; where the sheet is of another solo, the measure alone.
   *
   * @param {Omit<Source, "seconds">} source
   * @param {number} seconds from its position 0
   * @returns {{measure: number, at: number | null, share: number, next: number | null} | null}
   */
  #placeOf({ positions, length, digest, bounce }, seconds) {
    const place = placeAt(positions, seconds, length);
    const { arrangement, written } = this.sheet;
    const measure = place === null ? undefined : written?.measures.get(place.measure);
    if (place === null || measure === undefined || arrangement.digest !== digest) {
      return place === null ? null : { ...place, at: null };
    }
    const slot = fraction(arrangement.slot);
    const compound = isCompound(measure.meter);
    const at = writtenAt(place.share, {
      length: fraction(measure.length),
      pair: 2 * slot,
      bounce: compound ? 50 : bounce,
      pickup: measure.number === 0,
    });
    const step = this.little.matches ? (compound ? 3 : 2) * slot : slot;
    return { ...place, at: Math.floor(at / step + 1e-6) * step };
  }

  /** @param {{measure: number, at: number | null, share: number, next: number | null} | null} place */
  #at(place) {
    this.sheet.point(place);
    this.strip.sound(place?.measure ?? null);
  }
}

/**
 * Whether the beats of a metre have three parts.
 *
 * @param {string} meter `"6/8"`
 */
function isCompound(meter) {
  const [count, unit] = meter.split("/").map(Number);
  return count > 3 && count % 3 === 0 && unit >= 8;
}
