/**
 * The sheet: the service's SVG on the page, the shade of the sounding measure, the pencil marks.
 *
 * A note of the arrangement and its place in the SVG have the same id, and so have measures.
 *
 * @module sheet
 */

import { drawBrackets } from "./brackets.js";
import { drawn, element } from "./dom.js";
import { pencil } from "./legend.js";
import { markOf, markOfExtra, playedWords } from "./marks.js";
import { fretAt } from "./neck.js";
import { linesOf, unitOf } from "./staff.js";
import { TEXT } from "./texts.js";
import { tiersOf } from "./tiers.js";

/** @typedef {import("./messages.js").Verdict} Verdict */
/** @typedef {import("./marks.js").Place} Place */

/** Pixels that stay free above the sounding system when the sheet is scrolled. */
const AIR = 12;

/** Pixels below which no pencilled letter falls, so that it can be read on a small screen. */
const LEAST_LETTERS = 11.5;

/** One sheet on the page. */
export class Sheet {
  /**
   * @param {HTMLElement} holder what the SVG is put into
   * @param {() => number} below pixels at the bottom of the window that are covered (the transport, the pad)
   */
  constructor(holder, below) {
    this.holder = holder;
    this.below = below;
    /** @type {SVGSVGElement | null} */
    this.svg = null;
    this.wanted = "";
    /** @type {any} the arrangement, as in its file */
    this.arrangement = null;
    /** @type {Map<string, Verdict>} the verdicts shown, by note or place */
    this.verdicts = new Map();
    this.sounding = -1;
    /** @type {Element | null} */
    this.system = null;
  }

  /**
   * Shows the sheet of an arrangement; the marks it bears are kept when only the layout changes.
   *
   * @param {string} digest
   * @param {"wide" | "narrow"} layout
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
   * Shades the measure that sounds; on a change of system, brings it and the next one into view.
   *
   * @param {number | null} measure null for none
   */
  shade(measure) {
    const number = measure ?? -1;
    if (number === this.sounding) {
      return;
    }
    this.svg?.querySelector(`#${CSS.escape(`m${this.sounding}`)}`)?.classList.remove("sounding");
    this.sounding = number;
    const group = this.#measure(number);
    group?.classList.add("sounding");
    const system = group?.closest(".system") ?? null;
    if (system !== null && system !== this.system) {
      this.#bring(system);
    }
    this.system = system;
  }

  /**
   * Brings the system of the first measure of a pass, and the next one, into view.
   *
   * @param {number} measure
   */
  begin(measure) {
    this.system = this.#measure(measure)?.closest(".system") ?? null;
    if (this.system !== null) {
      this.#bring(this.system);
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
    return this.svg?.querySelector(`#${CSS.escape(`m${number}`)}`) ?? null;
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
    this.system = null;
    this.#addWashes();
    drawBrackets(svg, tiersOf(this.arrangement));
    for (const part of svg.querySelectorAll(".page-margin")) {
      part.append(drawn("g", { class: "pencil" })); // over all that is printed
    }
    for (const [key, verdict] of this.verdicts) {
      this.#draw(key, verdict, false);
    }
    const sounding = this.sounding;
    this.sounding = -1;
    this.shade(sounding < 0 ? null : sounding);
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
   * @param {string} id of a pluck
   * @returns {Place | null}
   */
  #place(id) {
    /** @type {SVGTextElement | null | undefined} */
    const number = this.svg?.querySelector(`#${CSS.escape(id)} text`);
    const group = number?.closest(".measure");
    if (!number || !group) {
      return null;
    }
    const lines = linesOf(group);
    const size = Number.parseFloat(number.getAttribute("font-size") ?? "300");
    const y = Number(number.getAttribute("y")) - size / 3; // the text stands on its baseline
    const gap = lines.length > 1 ? lines[1].y - lines[0].y : size;
    const string = lines.length > 0 ? Math.round((y - lines[0].y) / gap) + 1 : 3;
    const least = LEAST_LETTERS * unitOf(number);
    return { x: Number(number.getAttribute("x")), y, size, gap, string, least };
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
      ?.closest(".page-margin")
      ?.querySelector(":scope > .pencil")
      ?.append(group);
  }

  /**
   * @param {Verdict} verdict
   * @param {string} id
   */
  #verdict(verdict, id) {
    const place = this.#place(id);
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
    const measure = this.arrangement?.measures.find((/** @type {any} */ one) => one.number === verdict.measure);
    const lines = group === null ? [] : linesOf(group);
    if (lines.length < 2 || measure === undefined) {
      return null;
    }
    const known = measure.plucks.flatMap((/** @type {any} */ pluck) => {
      const place = this.#place(pluck.id);
      return place === null ? [] : [{ at: fraction(pluck.at), x: place.x }];
    });
    const end = { at: fraction(measure.length), x: lines[0].right };
    const x = between([{ at: 0, x: lines[0].left }, ...known, end], fraction(verdict.at ?? "0"));
    const gap = lines[1].y - lines[0].y;
    return markOfExtra({ x, top: lines[0].y, size: gap, fault: verdict.fault ?? true });
  }

  /** @param {Element} system */
  #bring(system) {
    const systems = [...(this.svg?.querySelectorAll(".system") ?? [])];
    const next = systems[systems.indexOf(system) + 1] ?? system;
    const [top, bottom] = [system.getBoundingClientRect().top, next.getBoundingClientRect().bottom];
    const room = window.innerHeight - this.below();
    if (top >= 0 && bottom <= room) {
      return;
    }
    window.scrollBy({ top: top - AIR, behavior: calm() });
  }
}

/** How to scroll: at once where the player asked for little motion. */
export function calm() {
  return window.matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth";
}

/**
 * Fetches, or says why not.
 *
 * @param {string} url
 * @returns {Promise<Response>}
 */
async function fetched(url) {
  const answer = await fetch(url);
  if (!answer.ok) {
    throw new Error((await answer.text()) || answer.statusText);
  }
  return answer;
}

/**
 * An exact fraction as it is written in the arrangement.
 *
 * @param {string} text `"3/2"`
 * @returns {number} quarters
 */
export function fraction(text) {
  const [over, under = "1"] = text.split("/");
  return Number(over) / Number(under);
}

/**
 * The x of a written position between known ones.
 *
 * @param {{at: number, x: number}[]} known in order of `at`, at least two
 * @param {number} at quarters
 * @returns {number}
 */
export function between(known, at) {
  const after = known.findIndex((one) => one.at > at);
  const [a, b] = after <= 0 ? known.slice(-2) : [known[after - 1], known[after]];
  return b.at === a.at ? a.x : a.x + ((at - a.at) / (b.at - a.at)) * (b.x - a.x);
}

