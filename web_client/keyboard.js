/**
 * Which key does what. Keys are named by their place (`KeyboardEvent.code`), so any layout will do.
 *
 * Pure: no document.
 *
 * @module keyboard
 */

/** Keys of the transport. */
export const TRANSPORT_KEYS = Object.freeze({
  Space: "toggle",
  Escape: "stop",
  Backspace: "again",
  Enter: "next",
  NumpadEnter: "next",
  ArrowUp: "clean",
  ArrowDown: "unclean",
  PageDown: "next", // what the right pedal of a page turner sends
  PageUp: "again",
});

const ROWS = /** @type {const} */ ([
  [1, ["Digit1", "Digit2", "Digit3", "Digit4", "Digit5", "Digit6"]],
  [2, ["KeyQ", "KeyW", "KeyE", "KeyR", "KeyT", "KeyY"]],
  [3, ["KeyA", "KeyS", "KeyD", "KeyF", "KeyG", "KeyH"]],
  [4, ["KeyZ", "KeyX", "KeyC", "KeyV", "KeyB", "KeyN"]],
  [5, ["KeyM"]],
]);

/** @type {ReadonlyMap<string, {string: number, fret: number}>} Keys of the pad: a row is a string, frets 0 to 5. */
export const PAD_KEYS = new Map(
  ROWS.flatMap(([string, codes]) => codes.map((code, fret) => /** @type {const} */ ([code, { string, fret }]))),
);

/**
 * The letter of the pad's key on a usual keyboard.
 *
 * @param {number} string 1..5
 * @param {number} fret
 * @returns {string} empty where the place has no key
 */
export function padLetter(string, fret) {
  for (const [code, place] of PAD_KEYS) {
    if (place.string === string && place.fret === fret) {
      return code.replace(/^(Key|Digit)/, "");
    }
  }
  return "";
}
