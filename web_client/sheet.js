/**
 * The sheet: the service's SVG on the page, the shade of the sounding measure, the pencil marks.
 *
 * A note of the arrangement and its place in the SVG have the same id, and so have measures.
 *
 * @module sheet
 */

import { drawBrackets } from "./brackets.js";
import { calm, drawn, element } from "./dom.js";
import { fetched } from "./fetched.js";
import { pencil } from "./legend.js";
import { drawLoop } from "./loop.js";
import { markOf, markOfExtra, playedWords } from "./marks.js";
import { fretAt } from "./neck.js";
import { linesOf } from "./staff.js";
import { Stand } from "./stand.js";
import { Systems } from "./systems.js";
import { TEXT } from "./english.js";
import { tiersOf } from "./tiers.js";
import { Written, fraction } from "./written.js";

/** @typedef {import("./messages.js").Verdict} Verdict */
/**
 * @typedef {{id: string | null, measure: number, verdict: Verdict | null}} Tapped
 * What was touched on the sheet: a pluck and its verdict, if it has one; of an extra note, the verdict alone; else the
 * measure alone.
 */

/** Pixels from the middle of a number within which a touch means it: half of 44. */
const REACH = 22;

/** Windows in which the sheet has two measures to a system, and the margin lies below it. */
export const NARROW = "(max-width: 720px)";

/** @typedef {"wide" | "narrow" | "single"} Layout four, two measures or one to a system */

/** One sheet on the page. */
export class Sheet {
  /**
   * @param {HTMLElement} holder what the SVG is put into
   * @param {() => number} below pixels at the bottom of the window that are covered (the transport, the pad)
   */
  constructor(holder, below) {
    this.holder = holder;
    /** @type {SVGSVGElement | null} */
    this.svg = null;
    /** @type {Written | null} */
    this.written = null;
    this.wanted = "";
    /** @type {any} the arrangement, as in its file */
    this.arrangement = null;
    /** @type {Map<string, Verdict>} the verdicts shown, by note or place */
    this.verdicts = new Map();
    this.sounding = -1;
    /** The measure that comes next; -1 for none. */
    this.ahead = -1;
    /** @type {SVGElement | null} stands at the place that sounds */
    this.caret = null;
    /** @type {[first: number, last: number] | null} the measures that are bracketed */
    this.loop = null;
    this.stand = new Stand(holder, below);
    /** @type {((tapped: Tapped) => void)[]} */
    this.listeners = [];
    holder.addEventListener("click", (event) => this.#tap(event));
  }

  /**
   * Has a listener told of every mark, number or measure that the player touches on the sheet.
   *
   * @param {(tapped: Tapped) => void} listener
   */
  onTap(listener) {
    this.listeners.push(listener);
  }

  /**
   * Shows the sheet of an arrangement; the marks it bears are kept when only the layout changes.
   *
   * @param {string} digest
   * @param {Layout} layout
   * @returns {Promise<any>} the arrangement; null when another sheet was asked for meanwhile
   */
  async load(digest, layout) {
    const wanted = `${digest} ${layout}`;
    this.wanted = wanted;
    this.holder.setAttribute("aria-busy", "true");
    const [markup, arrangement] = await Promise.all([
      fetched(`sheets/${digest}.svg?layout=${layout}`).then((answer) => answer.text()),
      fetched(`arrangements/${digest}.json`).then((answer) => answer.json()),
    ]);
    if (this.wanted !== wanted) {
      return null;
    }
    if (this.arrangement?.digest !== digest) {
      this.verdicts.clear();
    }
    this.arrangement = arrangement;
    this.#show(markup);
    return arrangement;
  }

  /**
   * Says why there is no sheet; one that is still being fetched is not wanted any more.
   *
   * @param {string} words
   */
  say(words) {
    this.wanted = "";
    this.svg = null;
    this.written = null;
    this.stand.hold(null);
    this.holder.replaceChildren(element("p", { className: "sheet-words" }, words));
    this.holder.removeAttribute("aria-busy");
  }

  /** Rubs out all marks. */
  clear() {
    this.verdicts.clear();
    for (const pencilled of this.svg?.querySelectorAll(".pencil") ?? []) {
      pencilled.replaceChildren();
    }
  }

  /** Rubs out what was never made final. */
  settle() {
    for (const mark of this.svg?.querySelectorAll(".mark.faint") ?? []) {
      mark.remove();
    }
  }

  /**
   * Pencils a verdict in; one for the same note takes the place of the one before.
   *
   * @param {Verdict} verdict
   * @param {boolean} [faint] whether it is not final
   */
  mark(verdict, faint = false) {
    const key = verdict.id ?? `extra ${verdict.measure} ${verdict.at} ${verdict.pitch} ${verdict.string}`;
    const whole = { ...this.verdicts.get(key), ...verdict }; // what is amended keeps what was heard
    if (!faint) {
      this.verdicts.set(key, whole);
    }
    this.#draw(key, whole, faint);
  }

  /**
   * Shows what sounds: the measure, the place in it, and which measure is ahead.
   *
   * @param {{measure: number, at: number | null, share: number, next: number | null} | null} place `at` in quarters from
   *   the start of the measure, null where it is not known; `share` is how much of the measure has sounded; null for none
   */
  point(place) {
    const number = place?.measure ?? -1;
    if (number !== this.sounding) {
      this.#measure(this.sounding)?.classList.remove("sounding");
      this.sounding = number;
      this.#measure(number)?.classList.add("sounding");
    }
    const next = place?.next ?? -1;
    if (next !== this.ahead) {
      this.#measure(this.ahead)?.classList.remove("ahead");
      this.ahead = next;
      this.#measure(next)?.classList.add("ahead");
    }
    const x = place === null || place.at === null ? null : (this.written?.x(number, place.at) ?? null);
    this.#putCaret(this.#measure(number), x);
    if (place !== null) {
      this.stand.turn(place.measure, place.share);
    }
  }

  /**
   * Brackets the measures that are practised.
   *
   * @param {number} first
   * @param {number} last
   */
  bracket(first, last) {
    if (this.loop === null || this.loop[0] !== first || this.loop[1] !== last) {
      this.loop = [first, last];
      this.#bracket();
    }
  }

  /**
   * Scrolls to a measure that the player asked for.
   *
   * @param {number} measure
   */
  reveal(measure) {
    this.#measure(measure)?.scrollIntoView({ behavior: calm(), block: "center" });
  }

  /** @param {number} number */
  #measure(number) {
    return this.written?.measure(number) ?? null;
  }

  /** @param {string} markup */
  #show(markup) {
    const parsed = new DOMParser().parseFromString(markup, "image/svg+xml");
    for (const style of parsed.querySelectorAll("style")) {
      style.remove(); // the page's own rules stand in for it, and its policy would refuse it
    }
    /** @type {any} */
    const svg = document.importNode(parsed.documentElement, true);
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", TEXT.sheet.label(this.arrangement));
    svg.removeAttribute("width");
    svg.removeAttribute("height");
    this.holder.replaceChildren(svg);
    this.holder.removeAttribute("aria-busy");
    this.svg = svg;
    this.written = new Written(svg, this.arrangement);
    this.#addWashes();
    const systems = new Systems(svg);
    drawBrackets(svg, tiersOf(this.arrangement));
    this.#bracket();
    for (const [key, verdict] of this.verdicts) {
      this.#draw(key, verdict, false);
    }
    [this.caret, this.sounding, this.ahead] = [null, -1, -1];
    this.stand.hold(systems);
  }

  /**
   * @param {SVGGElement | null} group of the measure that sounds
   * @param {number | null} x null where the place is not known
   */
  #putCaret(group, x) {
    if (this.caret !== null && (x === null || this.caret.parentNode !== group)) {
      this.caret.remove();
      this.caret = null;
    }
    if (x !== null && group !== null) {
      this.caret ??= caretOf(group);
      this.caret.setAttribute("transform", `translate(${x} 0)`);
    }
  }

  #bracket() {
    if (this.svg !== null && this.loop !== null) {
      drawLoop(this.svg, this.arrangement.measures, ...this.loop);
    }
  }

  /** Puts a wash behind each measure's tab, to be seen while the measure sounds. */
  #addWashes() {
    for (const measure of this.arrangement.measures) {
      const group = this.#measure(measure.number);
      const lines = group === null ? [] : linesOf(group);
      if (group !== null && lines.length > 1) {
        const gap = lines[1].y - lines[0].y;
        const [top, bottom] = [lines[0].y - gap * 0.9, lines[lines.length - 1].y + gap * 0.9];
        const [left, right] = [lines[0].left, lines[0].right];
        group.prepend(
          drawn("rect", { class: "wash", x: left, y: top, width: right - left, height: bottom - top, rx: gap * 0.15 }),
        );
      }
    }
  }

  /**
   * @param {string} key
   * @param {Verdict} verdict
   * @param {boolean} faint
   */
  #draw(key, verdict, faint) {
    this.svg?.querySelector(`[data-note="${CSS.escape(key)}"]`)?.remove();
    const drawing = verdict.id === null ? this.#extra(verdict) : this.#verdict(verdict, verdict.id);
    if (drawing === null) {
      return;
    }
    const group = drawn("g", {
      class: faint ? "mark faint" : "mark",
      "data-note": key,
      "data-verdict": verdict.verdict,
    });
    pencil(drawing, group);
    const place = verdict.id === null ? `m${verdict.measure}` : verdict.id;
    this.svg
      ?.querySelector(`#${CSS.escape(place)}`)
      ?.closest(".system")
      ?.querySelector(":scope > .pencil")
      ?.append(group);
  }

  /**
   * @param {Verdict} verdict
   * @param {string} id
   */
  #verdict(verdict, id) {
    const place = this.written?.place(id) ?? null;
    if (place === null) {
      return null;
    }
    const { offset_ms, string = null, pitch = null } = verdict;
    const { tuning, capo } = this.arrangement;
    const fret = verdict.fret ?? (pitch === null ? null : fretAt(tuning.strings, capo, string ?? place.string, pitch));
    return markOf({ verdict: verdict.verdict, offset_ms, string, played: playedWords({ fret, pitch }) }, place, id);
  }

  /** @param {Verdict} verdict */
  #extra(verdict) {
    const group = this.#measure(verdict.measure);
    const lines = group === null ? [] : linesOf(group);
    const x = this.written?.x(verdict.measure, fraction(verdict.at ?? "0")) ?? null;
    if (lines.length < 2 || x === null) {
      return null;
    }
    const gap = lines[1].y - lines[0].y;
    return markOfExtra({ x, top: lines[0].y, size: gap, fault: verdict.fault ?? true });
  }

  /** @param {MouseEvent} event */
  #tap(event) {
    const target = /** @type {Element} */ (event.target);
    const key = /** @type {SVGElement | null} */ (target.closest("[data-note]"))?.dataset.note;
    const marked = key === undefined ? undefined : this.verdicts.get(key);
    const measure = target.closest(".measure");
    /** @type {Tapped | null} */
    let tapped = null;
    if (marked !== undefined) {
      tapped = { id: marked.id, measure: marked.measure, verdict: marked };
    } else if (measure !== null) {
      const id = this.written?.nearest(measure, event.clientX, event.clientY, REACH) ?? null;
      tapped = { id, measure: Number(measure.id.slice(1)), verdict: (id && this.verdicts.get(id)) || null };
    }
    if (tapped !== null) {
      for (const listener of this.listeners) {
        listener(tapped);
      }
    }
  }
}

/**
 * A caret in a measure, at x 0: behind its numbers, with a head over the strings.
 *
 * @param {Element} group of the measure, which has strings
 */
function caretOf(group) {
  const lines = linesOf(group);
  const gap = lines[1].y - lines[0].y;
  const [top, bottom] = [lines[0].y - gap * 0.9, lines[lines.length - 1].y + gap * 0.9];
  const half = gap * 0.75;
  const head = `M${-half * 0.8} ${top - gap * 0.55}L0 ${top - gap * 0.1}L${half * 0.8} ${top - gap * 0.55}`;
  const caret = drawn(
    "g",
    { class: "caret" },
    drawn("rect", { x: -half, y: top, width: 2 * half, height: bottom - top, rx: gap * 0.15 }),
    drawn("path", { d: head }),
  );
  group.querySelector(":scope > .wash")?.after(caret);
  return caret;
}
