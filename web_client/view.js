/**
 * How the sheet is shown: its size, what of it, and on which side the margin lies. It belongs to this page, which keeps it.
 *
 * @module view
 */

import { byId } from "./dom.js";

const KEPT = "page-view";

/**
 * @typedef {{size: "arm" | "large" | "far", tune: boolean, words: boolean, chords: boolean, fingers: boolean,
 *   side: "right" | "left"}} Look
 * `size` by the distance of the eyes: at arm's length, at twice that, at two metres.
 */

/** @type {Readonly<Look>} */
const FIRST = Object.freeze({ size: "arm", tune: true, words: true, chords: true, fingers: true, side: "right" });

/** What can be hidden, one by one. */
const PARTS = /** @type {const} */ (["tune", "words", "chords", "fingers"]);

/** Windows so low that it is their height, not their width, that limits the size of two systems of two measures of tab. */
export const BROAD = "(min-aspect-ratio: 3/2)";

/**
 * How many measures a system has.
 *
 * @param {Look["size"]} size
 * @param {{narrow: boolean, broad: boolean}} window
 * @returns {import("./sheet.js").Layout}
 */
export function layoutOf(size, { narrow, broad }) {
  if (size === "far") {
    return broad ? "narrow" : "single";
  }
  const layouts = /** @type {const} */ (["wide", "narrow", "single"]);
  return layouts[(narrow ? 1 : 0) + (size === "large" ? 1 : 0)];
}

/**
 * What of a kept look can be used.
 *
 * @param {unknown} kept
 * @returns {Look}
 */
export function lookOf(kept) {
  const look = { ...FIRST, .../** @type {any} */ (kept !== null && typeof kept === "object" ? kept : {}) };
  return {
    size: ["arm", "large", "far"].includes(look.size) ? look.size : FIRST.size,
    side: look.side === "left" ? "left" : "right",
    tune: look.tune !== false,
    words: look.words !== false,
    chords: look.chords !== false,
    fingers: look.fingers !== false,
  };
}

/** The slip "View" over the sheet. */
export class View {
  /** @param {(look: Look, sized: boolean) => void} onLook called when it changes; `sized` where the size did */
  constructor(onLook) {
    this.onLook = onLook;
    this.look = lookOf(kept());
    this.form = byId("view-form");
    this.form.addEventListener("change", () => this.#change());
    this.form.addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());
    for (const [name, value] of Object.entries(this.look)) {
      const field = this.form.elements[name];
      if (typeof value === "boolean") {
        field.checked = value;
      } else {
        field.value = value;
      }
    }
    this.#show();
  }

  #change() {
    const fields = this.form.elements;
    const before = this.look;
    this.look = lookOf({
      size: fields.size.value,
      side: fields.side.value,
      ...Object.fromEntries(PARTS.map((part) => [part, fields[part].checked])),
    });
    try {
      localStorage.setItem(KEPT, JSON.stringify(this.look));
    } catch {
      // storage is refused: it holds until the page is closed
    }
    this.#show();
    this.onLook(this.look, before.size !== this.look.size);
  }

  /** The rules of the page do the rest. */
  #show() {
    const { size, side } = this.look;
    const far = size === "far";
    document.body.classList.toggle("far", far);
    document.body.classList.toggle("left", side === "left");
    this.form.elements.tune.disabled = far; // the tab stands alone then
    for (const part of PARTS) {
      byId("sheet").classList.toggle(`no-${part}`, !this.look[part] || (part === "tune" && far));
    }
  }
}

/** @returns {unknown} */
function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "null");
  } catch {
    return null; // storage is refused, or holds what was not written here
  }
}
