/**
 * The sheet on paper, straight from the page: what is needed over it, then a drawing for each system, so that no page
 * ends within one.
 *
 * @module print
 */

import { byId, drawn, element } from "./dom.js";
import { Sheet } from "./sheet.js";
import { TEXT } from "./english.js";

/** What is of the moment, and not printed. */
const PASSING = ".wash, .caret, .off, .edit-sign";

/** What the pencil drew. */
const PENCILLED = ".pencil, .loop";

/** Prints the solo that is shown. */
export class Print {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./paper.js").Paper} paper
   * @param {import("./notice.js").Notice} notice
   */
  constructor(practice, paper, notice) {
    this.practice = practice;
    this.paper = paper;
    this.notice = notice;
    this.form = byId("print-form");
    byId("print-name").textContent = TEXT.print.name;
    byId("print-date").textContent = TEXT.print.date;
    this.sheet = new Sheet(byId("print-sheet-holder"), () => 0);
    this.form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      void this.#print();
    });
    window.addEventListener("beforeprint", () => {
      if (byId("print-systems").childElementCount === 0) {
        this.#lay(this.paper.sheet); // printed by the browser's own command
      }
    });
    window.addEventListener("afterprint", () => this.#clear());
    practice.on("state", () => this.#offer());
  }

  /** Prints four measures to a system, or two where it is to be large, whatever the size on the screen. */
  async #print() {
    const { arrangement, verdicts, loop } = this.paper.sheet;
    if (arrangement === null || this.practice.state?.digest === "" || this.practice.playing) {
      return;
    }
    const holder = byId("print-sheet-holder");
    holder.className = `sheet measuring ${this.#hidden()}`;
    this.sheet.clear(); // the marks of a sheet that was printed before
    try {
      await this.sheet.load(arrangement.digest, this.form.elements.large.checked ? "narrow" : "wide");
    } catch {
      this.notice.say(TEXT.print.unloaded);
      this.#clear();
      return;
    }
    if (this.form.elements.marks.checked) {
      for (const verdict of verdicts.values()) {
        this.sheet.mark(verdict);
      }
      if (loop !== null) {
        this.sheet.bracket(...loop);
      }
    }
    this.#lay(this.sheet);
    holder.replaceChildren();
    window.print();
  }

  /**
   * Lays a sheet out for paper.
   *
   * @param {Sheet} sheet on the page
   */
  #lay(sheet) {
    const { systems } = sheet.stand;
    const { state } = this.practice;
    if (systems === null || state === null) {
      return;
    }
    byId("print-title").textContent = sheet.arrangement.title || TEXT.sheet.untitled;
    const told = [
      sheet.arrangement.rights,
      ...TEXT.print.lines(sheet.arrangement, TEXT.sheet.facts(sheet.arrangement)),
      TEXT.print.tempo(state, sheet.arrangement.meter),
      sheet.arrangement.remarks.join(" "),
      this.form.elements.marks.checked && sheet.verdicts.size > 0 && TEXT.print.marks,
    ];
    byId("print-lines").replaceChildren(...told.map((line) => (line ? element("p", {}, line) : "")));
    byId("print-systems").className = `sheet ${this.#hidden()}`;
    byId("print-systems").replaceChildren(...drawings(systems, this.form.elements.marks.checked));
  }

  /** What the player has hidden is not printed. */
  #hidden() {
    const { look } = this.paper.view;
    return /** @type {const} */ (["tune", "words", "chords", "fingers"])
      .filter((part) => !look[part])
      .map((part) => `no-${part}`)
      .join(" ");
  }

  #clear() {
    byId("print-sheet-holder").className = "sheet";
    byId("print-sheet-holder").replaceChildren();
    this.sheet.stand.hold(null);
    byId("print-systems").replaceChildren();
  }

  /** Links to the solo set on either paper; the dialog of the browser, which holds up the page, waits for a pass. */
  #offer() {
    const digest = this.practice.state?.digest ?? "";
    byId("print-sheet").disabled = this.practice.playing;
    byId("print-later").textContent = this.practice.playing ? TEXT.print.later : "";
    const links = TEXT.print.kinds.map(([paper, words]) =>
      element("a", { href: `arrangements/${digest}.pdf?paper=${paper}`, download: "" }, words),
    );
    byId("print-papers").replaceChildren(...(digest === "" ? [] : [`${TEXT.print.papers} `, links[0], " ", links[1]]));
  }
}

/**
 * A drawing for each system.
 *
 * @param {import("./systems.js").Systems} systems
 * @param {boolean} marks whether with what the pencil drew
 * @returns {SVGElement[]}
 */
function drawings({ svg, all, width }, marks) {
  const glyphs = svg.querySelector("defs");
  return all.map(({ group, offset, top, bottom }, index) => {
    let inner = /** @type {Element} */ (group.cloneNode(true));
    inner.removeAttribute("transform");
    inner.classList.remove("off", "turned");
    for (const part of inner.querySelectorAll(marks ? PASSING : `${PASSING}, ${PENCILLED}`)) {
      part.remove();
    }
    for (const part of inner.querySelectorAll("[id]")) {
      part.removeAttribute("id");
    }
    for (let at = group.parentElement; at !== null && /** @type {Element} */ (at) !== svg; at = at.parentElement) {
      const around = /** @type {Element} */ (at.cloneNode(false));
      around.append(inner);
      inner = around;
    }
    const box = `0 ${Math.round(offset + top)} ${width} ${Math.round(bottom - top)}`;
    const own = index === 0 && glyphs !== null ? [glyphs.cloneNode(true)] : [];
    return drawn("svg", { viewBox: box, class: "print-system" }, ...own, inner);
  });
}
