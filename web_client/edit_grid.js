/**
 * The measure that is edited, as a grid of strings and positions: each place can be chosen, by touch, mouse or keys.
 *
 * One stop of the tab key; the arrows go from place to place (ARIA Authoring Practices Guide, grid pattern, from memory).
 *
 * @module edit_grid
 */

import { element } from "./dom.js";
import { smallTab } from "./edit_drawing.js";
import { beatAt, pluckAt, positions } from "./edit_measure.js";
import { pictureOf } from "./edit_picture.js";
import { TEXT } from "./english.js";

/** @typedef {import("./edit_measure.js").Measure} Measure */
/** @typedef {import("./edit_measure.js").Spot} Spot */

/** Pixels between two strings: for a mouse, and for a finger. */
const GAPS = Object.freeze({ fine: 25, coarse: 36 });
const WIDTH = 288;

/** A step to another place, in positions and strings, by key. */
const STEPS = new Map([
  ["ArrowLeft", [-1, 0]],
  ["ArrowRight", [1, 0]],
  ["ArrowUp", [0, -1]],
  ["ArrowDown", [0, 1]],
  ["Home", [-Infinity, 0]],
  ["End", [Infinity, 0]],
]);

/** The grid. */
export class EditGrid {
  /**
   * @param {HTMLElement} holder
   * @param {{choose: (spot: Spot) => void, leaveOut: () => void}} on called with the place that was chosen; and when what
   *   stands there is to be left out
   */
  constructor(holder, on) {
    this.holder = holder;
    this.on = on;
    this.coarse = matchMedia("(pointer: coarse)");
    /** @type {Measure | null} */
    this.measure = null;
    /** @type {string[]} */
    this.at = [];
    /** Where the keys are: position and string, by index. */
    this.here = [0, 0];
    /** @type {Spot | null} */
    this.chosen = null;
    /** @type {HTMLElement[][]} by string and position */
    this.cells = [];
    holder.addEventListener("click", (event) => this.#click(event));
    holder.addEventListener("keydown", (event) => this.#key(event));
  }

  /**
   * Shows a measure.
   *
   * @param {Measure} measure
   * @param {string} slot of the solo's grid
   * @param {boolean} between whether there are places between two slots
   */
  show(measure, slot, between) {
    const hadFocus = this.holder.contains(document.activeElement);
    const same = this.measure?.number === measure.number;
    this.measure = measure;
    this.at = positions(measure, slot, between);
    this.here = same ? [Math.min(this.here[0], this.at.length - 1), this.here[1]] : this.#first();
    const tab = smallTab(measure, this.at, { width: WIDTH, gap: this.coarse.matches ? GAPS.coarse : GAPS.fine });
    const gap = tab.lines[1] - tab.lines[0];
    const step = (tab.right - tab.left) / this.at.length;
    this.cells = tab.lines.map((y, string) =>
      this.at.map((at, index) => this.#cell({ at, string: string + 1 }, tab, index * step + tab.left, y - gap / 2, step, gap)),
    );
    const rows = this.cells.map((row) => element("div", { role: "row" }, ...row));
    const grid = element("div", { role: "grid", "aria-label": TEXT.edit.grid(measure.number), className: "edit-cells" }, ...rows);
    this.holder.style.minWidth = `${tab.width}px`;
    this.holder.replaceChildren(pictureOf(tab, ""), grid);
    this.choose(this.chosen);
    if (hadFocus) {
      this.#focus();
    }
  }

  /**
   * Marks a place as chosen.
   *
   * @param {Spot | null} spot
   */
  choose(spot) {
    this.chosen = spot;
    const index = spot === null ? -1 : this.at.indexOf(spot.at);
    if (spot !== null && index >= 0) {
      this.here = [index, spot.string - 1];
    }
    this.#mark();
  }

  /** Marks what is chosen, and where the keys are. */
  #mark() {
    const { at, string } = this.chosen ?? { at: "", string: 0 };
    this.cells.forEach((row, line) =>
      row.forEach((cell, column) => {
        cell.setAttribute("aria-selected", String(this.at[column] === at && line + 1 === string));
        cell.tabIndex = this.here[0] === column && this.here[1] === line ? 0 : -1;
      }),
    );
  }

  /** @returns {[number, number]} where the keys begin: at the first pluck */
  #first() {
    const first = this.measure?.plucks[0];
    return first === undefined ? [0, 0] : [this.at.indexOf(first.at), first.string - 1];
  }

  /**
   * @param {Spot} spot
   * @param {import("./edit_drawing.js").SmallTab} tab
   * @param {number} left
   * @param {number} top
   * @param {number} width
   * @param {number} height
   */
  #cell(spot, tab, left, top, width, height) {
    const measure = /** @type {Measure} */ (this.measure);
    const words = TEXT.edit.cell(spot.string, TEXT.edit.counted(...beatAt(measure, spot.at)), pluckAt(measure, spot));
    const cell = element("div", { role: "gridcell", className: "edit-cell", "aria-label": words });
    cell.dataset.at = spot.at;
    cell.dataset.string = String(spot.string);
    const share = (/** @type {number} */ part, /** @type {number} */ whole) => `${(100 * part) / whole}%`;
    cell.style.left = share(left, tab.width);
    cell.style.width = share(width, tab.width);
    cell.style.top = share(top, tab.height);
    cell.style.height = share(height, tab.height);
    return cell;
  }

  #focus() {
    this.cells[this.here[1]]?.[this.here[0]]?.focus();
  }

  /** @param {MouseEvent} event */
  #click(event) {
    const cell = /** @type {HTMLElement} */ (event.target).closest(".edit-cell");
    if (cell instanceof HTMLElement) {
      this.on.choose({ at: cell.dataset.at ?? "", string: Number(cell.dataset.string) });
    }
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) {
      return;
    }
    const step = STEPS.get(event.key);
    const [column, string] = this.here;
    if (step !== undefined) {
      const within = (/** @type {number} */ value, /** @type {number} */ most) => Math.min(Math.max(value, 0), most);
      this.here = [within(column + step[0], this.at.length - 1), within(string + step[1], 4)];
      this.#mark();
      this.#focus();
    } else if (event.key === "Enter" || event.key === " ") {
      this.on.choose({ at: this.at[column], string: string + 1 });
    } else if (event.key === "Delete" || event.key === "Backspace") {
      this.on.choose({ at: this.at[column], string: string + 1 });
      this.on.leaveOut();
    } else {
      return;
    }
    event.preventDefault();
    event.stopPropagation(); // they are keys of the transport too
  }
}
