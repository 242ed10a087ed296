/**
 * The English of instruments that the browser hears.
 *
 * @module midi_texts
 */

export const MIDI_TEXT = Object.freeze({
  connect: "Hear an instrument in this browser",
  disconnect: "Stop hearing it",
  again: "Try again",
  all: "whatever is plugged in",
  /** @param {string} name of an input that is not there now */
  gone: (name) => `${name} (not plugged in)`,
  /** What stands behind each state of the inputs; see `MidiState`. */
  off: "For an instrument that is plugged into this device, wherever the coach itself runs.",
  insecure:
    "Browsers let a page hear MIDI instruments only over https, or on the computer where the coach itself runs (localhost). " +
    "Open this page there, or have the coach served with a certificate: coach serve --certfile cert.pem --keyfile key.pem. " +
    "The pad and the coach's own inputs work all the same.",
  unknown:
    "This browser cannot hear MIDI instruments; another one on this device may. The pad and the coach's own inputs work all " +
    "the same.",
  touch: "The browser wants to be asked by a touch before it hears your instrument again.",
  asking: "The browser asks whether this page may hear MIDI instruments: allow it.",
  refused:
    "The browser does not let this page hear MIDI instruments. Allow MIDI for this page in the browser's own settings (by the " +
    "address), then ask again.",
  /** @param {string} why */
  failed: (why) => `The browser cannot reach MIDI instruments${why === "" ? "" : `: ${why.replace(/\.$/, "")}`}. Plug one in and try again.`,
  /** @param {string} name */
  heard: (name) => `Heard in this browser: ${name}. The coach's own inputs are left alone meanwhile; the pad works too.`,
  none: "No instrument is plugged in. It is heard as soon as it is.",
  /** @param {string} name */
  waiting: (name) => `${name} is not plugged in. It is heard as soon as it is back.`,
  /** @param {string[]} names */
  busy: (names) =>
    `${names.join(" and ")} cannot be opened: another program keeps it for itself. Close that one, then try again.`,
  /** @param {string} name */
  lost: (name) => `${name} was unplugged. It is taken up again when it is back; what you miss meanwhile is not held against you.`,
  /** @param {string} name */
  back: (name) => `${name} is heard again.`,
});
