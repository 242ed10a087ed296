/**
 * The watermark of the page's own notes: "nothing before this moment is still to come".
 *
 * An event is stamped when it happens and handled a little later, more so when the page is busy. What happened before
 * one tick has been handled by the next: the page has gone round its queue between them.
 *
 * @module watermark
 */

/** Milliseconds between two ticks. */
export const TICK_MS = 100;

/** Ticks, and says how far the notes are complete. */
export class Watermark {
  /**
   * @param {() => number} now seconds on the page's clock
   * @param {(stamp: number) => void} tell
   */
  constructor(now, tell) {
    this.now = now;
    this.tell = tell;
    /** @type {number | null} */
    this.last = null;
  }

  /** One tick: tells the moment of the tick before. */
  tick() {
    const last = this.last;
    this.last = this.now();
    if (last !== null) {
      this.tell(last);
    }
  }

  /** Ticks for as long as the page lives. */
  run() {
    setInterval(() => this.tick(), TICK_MS);
  }
}
