/**
 * Draws a draft on the page.
 *
 * @module enter_score
 */

import { drawn } from "./dom.js";
import { GAP, LINE, STEM, TOP, drawingOf } from "./enter_drawing.js";

/** @typedef {import("./enter_drawing.js").Sign} Sign */

/** How wide a drawing is at least, in pixels. */
const LEAST = 240;

/** Pixels that are to be seen below the place behind the last note: stem, letter and word. */
const MARGIN = 60;

/** The draft as a picture in which notes can be chosen. */
export class EnterScore {
  /**
   * @param {HTMLElement} room
   * @param {(index: number) => void} onChoose called with the index of a note that is touched
   */
  constructor(room, onChoose) {
    this.room = room;
    room.addEventListener("click", (event) => {
      const sign = /** @type {Element} */ (event.target).closest("[data-index]");
      if (sign !== null) {
        onChoose(Number(/** @type {SVGElement} */ (sign).dataset.index));
      }
    });
  }

  /**
   * @param {import("./enter_tune.js").Draft} draft
   * @param {Record<string, number>} strings open pitches
   * @param {number} at the index of the note that is chosen; the number of notes for the place behind the last
   * @param {string} label what it shows, in words
   */
  show(draft, strings, at, label) {
    const width = Math.max(LEAST, this.room.clientWidth);
    const drawing = drawingOf(draft, strings, width);
    const height = drawing.rows * LINE;
    const svg = drawn("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": label });
    for (const { row, x } of drawing.ends) {
      for (let string = 0; string < 5; string += 1) {
        const y = row * LINE + TOP + string * GAP;
        svg.append(drawn("line", { x1: 0, x2: Math.min(width, x), y1: y, y2: y, class: "enter-string" }));
      }
    }
    for (const { row, x } of drawing.bars) {
      svg.append(drawn("line", { x1: x, x2: x, y1: row * LINE + TOP, y2: row * LINE + TOP + 4 * GAP, class: "enter-bar" }));
    }
    for (const { row, x, number } of drawing.numbers) {
      svg.append(drawn("text", { x, y: row * LINE + TOP - 6, class: "enter-number" }, String(number)));
    }
    for (const { row, x, name } of drawing.chords) {
      svg.append(drawn("text", { x: x + 6, y: row * LINE + TOP - 16, class: "enter-chord" }, name));
    }
    drawing.signs.forEach((sign, index) => svg.append(this.#sign(sign, sign.index === at, drawing.signs[index + 1])));
    if (at >= draft.notes.length) {
      const { row, x } = drawing.cursor;
      const y = row * LINE + TOP - 6;
      svg.append(drawn("rect", { x: x - 8, y, width: 16, height: 4 * GAP + 12, class: "enter-cursor" }));
    }
    this.room.replaceChildren(svg);
    this.#reveal(svg.querySelector(".chosen, .enter-cursor"));
  }

  /**
   * Scrolls the page to the picture, where something lies over it.
   *
   * @param {number} floor where that begins, in pixels from the top of the window
   */
  reveal(floor) {
    const { top, bottom } = this.room.getBoundingClientRect();
    if (top < 0 || bottom > floor) {
      window.scrollBy(0, top - TOP / 2);
    }
  }

  /**
   * Scrolls within the picture.
   *
   * @param {Element | null} shown
   */
  #reveal(shown) {
    const [outer, inner] = [this.room.getBoundingClientRect(), shown?.getBoundingClientRect()];
    if (inner !== undefined && (inner.top < outer.top || inner.bottom + MARGIN > outer.bottom)) {
      this.room.scrollTop += inner.top - outer.top - TOP;
    }
  }

  /**
   * @param {Sign} sign
   * @param {boolean} chosen
   * @param {Sign | undefined} next
   */
  #sign(sign, chosen, next) {
    const top = sign.row * LINE;
    const { x } = sign;
    const group = drawn("g", { class: chosen ? "enter-note chosen" : "enter-note", "data-index": sign.index });
    group.append(
      drawn("rect", { x: x - sign.width / 2, y: top + TOP - 8, width: sign.width, height: 92, class: "enter-touch" }),
    );
    const y = top + TOP + ((sign.string ?? 3) - 1) * GAP;
    if (sign.rest) {
      group.append(drawn("rect", { x: x - 6, y: y - 3, width: 12, height: 6, class: "enter-rest" }));
    } else {
      const text = sign.held ? `(${sign.text})` : sign.text;
      const room = 4 + 8 * text.length;
      group.append(
        drawn("rect", { x: x - room / 2, y: y - 7, width: room, height: 14, class: "enter-patch" }),
        drawn("text", { x, y: y + 5, class: "enter-fret" }, text),
      );
    }
    const from = top + (sign.stem === "half" ? (STEM.from + STEM.to) / 2 : STEM.from);
    if (sign.stem !== "none") {
      group.append(drawn("line", { x1: x, x2: x, y1: from, y2: top + STEM.to, class: "enter-stem" }));
    }
    for (let flag = 0; flag < sign.flags; flag += 1) {
      const low = top + STEM.to - 6 * flag;
      group.append(drawn("path", { d: `M${x} ${low} l8 -5`, class: "enter-stem enter-flag" }));
    }
    if (sign.dots > 0) {
      group.append(drawn("circle", { cx: x + 5, cy: top + STEM.from + 6, r: 1.8, class: "enter-dot" }));
    }
    if (sign.three) {
      group.append(drawn("text", { x: x + 12, y: top + STEM.from - 1, class: "enter-three" }, "3"));
    }
    if (sign.tied) {
      const to = next !== undefined && next.row === sign.row ? next.x - 6 : x + sign.width / 2 + 6;
      group.append(
        drawn("path", { d: `M${x + 6} ${y + 9} Q${(x + 6 + to) / 2} ${y + 17} ${to} ${y + 9}`, class: "enter-tie" }),
      );
    }
    group.append(
      drawn("text", { x, y: top + STEM.letter, class: "enter-letter" }, sign.held ? "" : sign.letter),
      drawn("text", { x, y: top + STEM.word, class: "enter-word" }, sign.word),
    );
    return group;
  }
}
