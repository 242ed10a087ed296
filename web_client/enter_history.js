/**
 * The steps by which a draft came to be, to be taken back and done again.
 *
 * Pure.
 *
 * @module enter_history
 */

/** @typedef {{draft: import("./enter_tune.js").Draft, at: number}} Step a draft, and the index of the note that is chosen */

/** How many steps can be taken back. */
export const MOST_STEPS = 300;

/** A draft with its past. */
export class History {
  /** @param {Step} first */
  constructor(first) {
    /** @type {Step[]} the last is the one at hand */
    this.steps = [first];
    /** @type {Step[]} the last was taken back last */
    this.undone = [];
  }

  /** The step at hand. */
  get now() {
    return this.steps[this.steps.length - 1];
  }

  get canUndo() {
    return this.steps.length > 1;
  }

  get canRedo() {
    return this.undone.length > 0;
  }

  /** @param {Step} step the next one; one with the same draft only chooses another note */
  go(step) {
    if (step.draft === this.now.draft) {
      this.amend(step);
      return;
    }
    this.steps = [...this.steps, step].slice(-MOST_STEPS - 1);
    this.undone = [];
  }

  /** @param {Step} step in place of the one at hand, such as a word that is being typed */
  amend(step) {
    this.steps[this.steps.length - 1] = step;
  }

  /** Takes the last step back. */
  undo() {
    if (this.canUndo) {
      this.undone.push(/** @type {Step} */ (this.steps.pop()));
    }
  }

  /** Does again what was taken back last. */
  redo() {
    const step = this.undone.pop();
    if (step !== undefined) {
      this.steps.push(step);
    }
  }
}
