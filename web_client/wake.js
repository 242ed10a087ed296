/**
 * Keeps the screen from going dark during a pass, where the browser can do that.
 *
 * The W3C's Screen Wake Lock API (from memory): the browser lets a lock go by itself when the page is hidden, so it is
 * asked for again when the page comes back.
 *
 * @module wake
 */

/** The screen, awake or free to sleep. */
export class Wake {
  /**
   * @param {{request: (type: "screen") => Promise<{release: () => Promise<void>}>} | undefined} locks the browser's
   *   `navigator.wakeLock`; undefined where it has none
   * @param {EventTarget & {visibilityState: string}} page the document
   */
  constructor(locks, page) {
    this.locks = locks;
    this.page = page;
    this.wanted = false;
    /** What was asked of the browser last; each thing is asked after the one before it is done. */
    this.done = Promise.resolve();
    /** @type {{release: () => Promise<void>} | null} */
    this.lock = null;
    page.addEventListener("visibilitychange", () => {
      if (this.wanted && page.visibilityState === "visible") {
        this.#ask();
      }
    });
  }

  /**
   * @param {boolean} wanted whether a pass is going on
   */
  keep(wanted) {
    if (this.wanted !== wanted) {
      this.wanted = wanted;
      this.#ask();
    }
  }

  #ask() {
    this.done = this.done.then(() => this.#settle()).catch(() => {
      // refused, for instance to spare the battery: the screen sleeps as it always does
    });
  }

  async #settle() {
    const before = this.lock;
    this.lock = null;
    await before?.release();
    if (this.wanted && this.page.visibilityState === "visible") {
      this.lock = (await this.locks?.request("screen")) ?? null;
    }
  }
}
