/**
 * The keys of the page: those of the transport and of the pad, wherever the focus does not need them itself.
 *
 * @module keys
 */

import { byId } from "./dom.js";
import { TRANSPORT_KEYS } from "./keyboard.js";

/** Listens to the keyboard. */
export class Keys {
  /**
   * @param {(action: import("./transport.js").Action) => void} act
   * @param {(event: KeyboardEvent) => boolean} other takes a key that is none of the transport's; whether it was of use
   */
  constructor(act, other) {
    this.act = act;
    this.other = other;
    document.addEventListener("keydown", (event) => this.#press(event));
  }

  /** @param {KeyboardEvent} event */
  #press(event) {
    if (taken(event)) {
      return;
    }
    const action = TRANSPORT_KEYS[/** @type {keyof typeof TRANSPORT_KEYS} */ (event.code)];
    if (action === undefined) {
      if (this.other(event)) {
        event.preventDefault();
      }
      return;
    }
    if ((action === "clean" || action === "unclean") && byId("self-mark").hidden) {
      return; // the arrows scroll
    }
    event.preventDefault();
    if (!event.repeat) {
      this.act(/** @type {import("./transport.js").Action} */ (action));
    }
  }
}

/**
 * Whether a key belongs to the part of the page that has the focus.
 *
 * @param {KeyboardEvent} event
 */
function taken(event) {
  const target = /** @type {HTMLElement} */ (event.target);
  if (event.altKey || event.ctrlKey || event.metaKey || document.querySelector("dialog[open]") !== null) {
    return true; // a dialog that is open has all keys, also where nothing in it has the focus
  }
  if (target.matches("#chooser [type=radio]:checked, #enter-lengths input") && !event.code.startsWith("Arrow")) {
    return false; // a tier or a length that is chosen has no more use for the keys of transport and pad
  }
  if (target.closest("input:not([type=range]), select")) {
    return true;
  }
  const button = target.closest("button, a, summary, input, label") !== null;
  return button && (event.code === "Space" || event.code === "Enter" || event.code.startsWith("Arrow"));
}
