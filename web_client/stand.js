/**
 * The sheet as it stands in the window: systems of a pass stay where they are until they are played.
 *
 * @module stand
 */

import { calm } from "./dom.js";
import { fitting, shownFrom, turned } from "./turning.js";

/** Pixels that stay free above the sounding system when the sheet is scrolled. */
const AIR = 12;

/** Has the systems of a sheet in view. */
export class Stand {
  /**
   * @param {HTMLElement} holder of the sheet
   * @param {() => number} below pixels at the bottom of the window that are covered (the transport, the pad)
   */
  constructor(holder, below) {
    this.holder = holder;
    this.below = below;
    /** @type {import("./systems.js").Systems | null} */
    this.systems = null;
    /** @type {[first: number, last: number] | null} the measures of the pass that is played */
    this.range = null;
    /** @type {{slots: number[], height: number} | null} where systems stand while not all of a pass fit */
    this.seats = null;
    /** Whether the sheet is to be read from far away. */
    this.far = false;
    window.addEventListener("resize", () => this.fit());
  }

  /**
   * Takes a sheet.
   *
   * @param {import("./systems.js").Systems | null} systems null for none
   */
  hold(systems) {
    this.systems = systems;
    this.renew();
    this.#bring();
  }

  /** Has it fit anew, after parts of it were hidden or shown. */
  renew() {
    this.seats = null;
    this.fit();
  }

  /**
   * Makes ready for a pass: brings its first systems into view, where they stay until they are played.
   *
   * @param {number} first its first measure
   * @param {number} last
   */
  begin(first, last) {
    this.range = [first, last];
    this.renew();
    this.#bring();
  }

  /** Shows the whole sheet again, after a pass. */
  end() {
    if (this.range !== null) {
      this.range = null;
      this.renew();
    }
  }

  /**
   * Brings a measure that sounds into view, for one who listens: only where it is not.
   *
   * @param {number} measure
   */
  follow(measure) {
    const index = this.systems?.of.get(measure);
    const box = index === undefined ? null : this.systems?.all[index].group.getBoundingClientRect();
    if (box && (box.top < 0 || box.bottom > this.#room() + AIR)) {
      window.scrollBy({ top: box.top - AIR, behavior: calm() });
    }
  }

  /**
   * Gives the slots of systems that were played to those that come.
   *
   * @param {number} measure that sounds
   * @param {number} share of it that has sounded
   */
  turn(measure, share) {
    const { seats, systems, range } = this;
    const index = systems?.of.get(measure);
    if (seats === null || systems === null || range === null || index === undefined) {
      return;
    }
    const [first, last] = range.map((number) => systems.of.get(number) ?? 0);
    const { measures } = systems.all[index];
    const played = (measures.indexOf(measure) + share) / measures.length;
    const from = shownFrom(index, played, { first, slots: seats.slots.length });
    const slots = turned(seats.slots, from, last);
    if (slots.some((system, slot) => system !== seats.slots[slot])) {
      seats.slots = slots;
      systems.seat(slots, seats.height);
    }
  }

  /** Pixels of the window in which systems can stand. */
  #room() {
    return window.innerHeight - this.below() - 2 * AIR;
  }

  /**
   * Has the sheet as wide as it may be, and its systems one under another, or those of the pass in their slots: to be
   * asked for when the room has changed.
   */
  fit() {
    const { systems } = this;
    if (systems === null || systems.all.length === 0) {
      return;
    }
    const shown = this.seats?.slots;
    systems.pile(this.far);
    const all = systems.all.length - 1;
    const [first, last] = this.range === null ? [0, all] : this.range.map((number) => systems.of.get(number) ?? 0);
    const height = systems.highest(first, last);
    const scale = this.holder.clientWidth / systems.width;
    const { shrink, slots } = fitting(height * scale, this.#room(), last - first + 1);
    systems.svg.style.width = this.range !== null || this.far ? `${Math.floor(1000 * shrink) / 10}%` : "";
    this.seats = null;
    if (this.range !== null && last - first + 1 > slots) {
      const kept = shown?.length === slots ? shown : Array.from({ length: slots }, (_, index) => first + index);
      this.seats = { slots: kept, height };
      systems.seat(kept, height);
    }
  }

  /** Scrolls to the systems of the pass, where they are not in view. */
  #bring() {
    const { seats, systems, range } = this;
    if (systems === null || range === null) {
      return;
    }
    const ends = range.map((number) => systems.all[systems.of.get(number) ?? 0].group.getBoundingClientRect());
    const top = seats === null ? ends[0].top : this.holder.getBoundingClientRect().top;
    if (seats !== null || top < 0 || ends[1].bottom > this.#room() + AIR) {
      window.scrollBy({ top: top - AIR, behavior: calm() });
    }
  }
}
