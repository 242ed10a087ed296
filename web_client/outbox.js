/**
 * Captured messages of one input on their way to the service: numbered, kept until acknowledged, sent again after a
 * reconnect.
 *
 * Pure: no socket, no clock.
 *
 * @module outbox
 */

import { MOST_NOTES_IN_A_MESSAGE } from "./messages.js";

/** @typedef {import("./messages.js").InputNote} InputNote */

/** The notes of one seat. Numbers start at 1 and never go back, so the service knows a repeated one. */
export class Outbox {
  constructor() {
    /** @type {InputNote[]} what was not acknowledged yet, in order */
    this.pending = [];
    this.next = 1;
    this.sent = 0; // the number of the last one that went out on this connection
    this.met = false;
  }

  /**
   * Keeps a note.
   *
   * @param {number} stamp seconds on the page's clock
   * @param {number[]} data the bytes of a MIDI message
   * @returns {InputNote} the note with its number
   */
  add(stamp, data) {
    const note = { seq: this.next, stamp, data };
    this.next += 1;
    this.pending.push(note);
    return note;
  }

  /**
   * Drops what has been taken.
   *
   * @param {number} seq the last number that the service has taken
   */
  acknowledge(seq) {
    this.pending = this.pending.filter((note) => note.seq > seq);
  }

  /**
   * Meets the service (again): what it has is dropped. At the first meeting of a page that was loaded anew, its
   * numbers go on where those of the page before it ended, since the service would take lower ones for repeats.
   *
   * @param {number} seq the last number that the service has taken from this seat
   */
  meet(seq) {
    if (this.met) {
      this.acknowledge(seq);
    } else if (seq > 0) {
      this.pending = this.pending.map((note) => ({ ...note, seq: note.seq + seq }));
      this.next += seq;
    }
    this.met = true;
    this.sent = 0;
  }

  /**
   * What has not gone out on this connection, in portions that fit a message; it counts as gone out from now on.
   *
   * @returns {InputNote[][]} none where nothing is left
   */
  portions() {
    const left = this.pending.filter((note) => note.seq > this.sent);
    this.sent = this.next - 1;
    const portions = [];
    for (let from = 0; from < left.length; from += MOST_NOTES_IN_A_MESSAGE) {
      portions.push(left.slice(from, from + MOST_NOTES_IN_A_MESSAGE));
    }
    return portions;
  }
}
