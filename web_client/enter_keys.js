/**
 * The keys while a tune is written down. They come before those of the transport, which rest meanwhile.
 *
 * @module enter_keys
 */

/** Keys by their place, for any layout; none is a key of the pad or of a shape. */
const KEYS = /** @type {Record<string, (view: import("./enter.js").EnterView) => void>} */ ({
  Comma: (view) => view.shorter(1),
  Period: (view) => view.shorter(-1),
  Slash: (view) => view.dot(),
  Semicolon: (view) => view.three(),
  Quote: (view) => view.rest(),
  Backslash: (view) => view.hold(),
  Backspace: (view) => view.remove(),
  Delete: (view) => view.remove(),
  Insert: (view) => view.insert(),
  ArrowLeft: (view) => view.choose(view.at - 1),
  ArrowRight: (view) => view.choose(view.at + 1),
  Home: (view) => view.choose(0),
  End: (view) => view.choose(view.draft.notes.length),
  Space: (view) => view.record(),
});

/** Keys of the transport that do nothing meanwhile. */
const RESTING = new Set(["Enter", "NumpadEnter", "Escape"]);

/** Listens to the keyboard while the view is open. */
export class EnterKeys {
  /** @param {import("./enter.js").EnterView} view */
  constructor(view) {
    this.view = view;
    document.addEventListener("keydown", (event) => this.#press(event), { capture: true });
  }

  /** @param {KeyboardEvent} event */
  #press(event) {
    const { view } = this;
    const target = /** @type {HTMLElement} */ (event.target);
    if (!view.open || event.altKey || document.querySelector("dialog[open]") !== null) {
      return;
    }
    const length = target.matches("#enter-lengths input") && !event.code.startsWith("Arrow"); // it has no use for others
    if (!length && target.closest("input:not([type=range]), select") !== null) {
      return;
    }
    const touched = target.closest("button, a, summary, label, pre") !== null;
    if (touched && ["Space", "Enter"].includes(event.code)) {
      return;
    }
    const run = this.#meant(event);
    if (run !== null || RESTING.has(event.code)) {
      event.preventDefault();
      event.stopImmediatePropagation();
      if (run !== null && (!event.repeat || event.code.startsWith("Arrow"))) {
        run(view);
      }
    }
  }

  /** @param {KeyboardEvent} event */
  #meant({ code, ctrlKey, metaKey, shiftKey }) {
    if (ctrlKey || metaKey) {
      const undoes = code === "KeyZ" && !shiftKey;
      const redoes = (code === "KeyZ" && shiftKey) || code === "KeyY";
      return undoes ? () => this.view.undo() : redoes ? () => this.view.redo() : null;
    }
    return KEYS[code] ?? null;
  }
}
