/**
 * All students at a glance. What is looked at stays where it is: who comes is shown behind those at practice, who leaves
 * or is stuck is said, and all are put in their places when the teacher asks for it, or looks away.
 *
 * @module desk_now
 */

import { counts, moved, ordered, placeOf, settled, whoCame } from "./desk_cards.js";
import { StripsDrawing, stripsKey } from "./desk_drawing.js";
import { DESK } from "./desk_english.js";
import { shownPasses, strips } from "./desk_strip.js";
import { byId, element } from "./dom.js";

/** @typedef {import("./desk_cards.js").Card} Card */

const KEPT = "desk-look";

/** Windows in which a look of their own is kept. */
const SMALL = "(max-width: 45rem)";

/** How many passes that are over are shown. */
const ROWS = Object.freeze({ cards: 8, rows: 2 });

/** The students. */
export class NowView {
  constructor() {
    /** @type {Map<string, Card>} by id */
    this.cards = new Map();
    /** @type {string[]} ids in the order in which they are shown */
    this.shown = [];
    /** @type {Map<string, string>} where each belonged when the order was made */
    this.places = new Map();
    /** @type {Map<string, CardView>} */
    this.views = new Map();
    this.known = false;
    /** @type {Set<string>} of those who were shown, who has not been told of since the line came back */
    this.untold = new Set();
    /** @type {"cards" | "rows"} */
    this.look = "cards";
    this.waiting = false;
    this.small = matchMedia(SMALL);
    this.small.addEventListener("change", () => this.#look());
    byId("looks").addEventListener("change", (/** @type {any} */ { target }) => {
      keep(this.#key, target.value);
      this.#look();
    });
    byId("put-in-order").addEventListener("click", () => {
      this.order();
      byId("now-head").focus(); // the button is gone
    });
    document.addEventListener("visibilitychange", () => document.hidden && this.order());
    byId("now-key").replaceChildren(...stripsKey());
    setInterval(() => this.#later(), 60_000); // "today" becomes "yesterday"
    this.#look();
  }

  /** @param {Card & {gone?: boolean}} card */
  take(card) {
    const before = this.cards.get(card.student);
    this.untold.delete(card.student);
    if (card.gone) {
      this.cards.delete(card.student);
    } else {
      this.cards.set(card.student, card);
    }
    if (!card.gone && before !== undefined && card.stuck !== null && before.stuck !== card.stuck && card.here) {
      byId("now-aloud").append(element("p", {}, DESK.now.aloud(card)));
      byId("now-aloud").replaceChildren(...[...byId("now-aloud").children].slice(-3));
    }
    this.#later();
  }

  /** The line is there, anew perhaps: all are told of once more. */
  meet() {
    this.untold = new Set(this.cards.keys());
  }

  /** All cards that are there have come: whoever was not told of is not there any more. */
  settle() {
    this.known = true;
    for (const id of this.untold) {
      this.cards.delete(id);
    }
    this.untold.clear();
    this.#later();
  }

  /** Puts all in their best order. */
  order() {
    this.shown = [];
    this.places.clear();
    this.#show();
  }

  /** Shows what has come with the next picture of the screen, all at once. */
  #later() {
    if (!this.waiting) {
      this.waiting = true;
      const show = () => {
        this.waiting = false;
        this.#show();
      };
      document.hidden ? setTimeout(show, 0) : requestAnimationFrame(show);
    }
  }

  #show() {
    this.shown = settled(this.shown, ordered(this.cards.values()).map(({ student }) => student));
    const came = whoCame(this.shown, this.places, this.cards);
    const first = this.shown.every((id) => this.places.get(id) === "away");
    this.shown = [...this.shown.filter((id) => !came.includes(id)), ...came];
    for (const id of came) {
      first ? this.places.delete(id) : this.places.set(id, "come");
    }
    for (const id of this.views.keys()) {
      if (!this.cards.has(id)) {
        this.views.get(id)?.item.remove();
        this.views.delete(id);
        this.places.delete(id);
      }
    }
    const now = new Date();
    for (const id of this.shown) {
      const card = /** @type {Card} */ (this.cards.get(id));
      this.places.has(id) || this.places.set(id, placeOf(card));
      const view = this.views.get(id) ?? new CardView(id);
      this.views.set(id, view);
      view.show(card, { away: this.places.get(id) === "away", rows: ROWS[this.look], now });
    }
    const away = (/** @type {string} */ id) => this.places.get(id) === "away";
    this.#line(byId("cards"), this.shown.filter((id) => !away(id)));
    this.#line(byId("away"), this.shown.filter(away));
    byId("away-part").hidden = byId("away").children.length === 0;
    byId("now-key").hidden = byId("cards").children.length === 0;
    byId("nobody").hidden = !this.known || this.cards.size > 0;
    byId("looks").hidden = !byId("nobody").hidden;
    if (this.known || this.cards.size > 0) {
      put(byId("now-words"), this.cards.size === 0 ? "" : DESK.now.words(counts(this.cards.values())));
    }
    const words = DESK.now.moved(moved(this.shown, this.places, this.cards));
    byId("now-moved").hidden = words === "";
    put(byId("moved-words"), words);
  }

  /**
   * Lines cards up, and touches only those that stand elsewhere; the focus stays on its card.
   *
   * @param {HTMLElement} list
   * @param {string[]} ids
   */
  #line(list, ids) {
    for (const [at, id] of ids.entries()) {
      const { item } = /** @type {CardView} */ (this.views.get(id));
      if (list.children[at] !== item) {
        const focused = item.contains(document.activeElement) ? /** @type {HTMLElement} */ (document.activeElement) : null;
        list.insertBefore(item, list.children[at] ?? null);
        focused?.focus({ preventScroll: true });
      }
    }
    while (list.children.length > ids.length) {
      list.lastElementChild?.remove();
    }
  }

  get #key() {
    return `${KEPT}-${this.small.matches ? "small" : "wide"}`;
  }

  /** By the teacher's choice for a window like this one; a small one begins with rows, since more of them fit. */
  #look() {
    const look = kept(this.#key) ?? (this.small.matches ? "rows" : "cards");
    this.look = look === "rows" ? "rows" : "cards";
    byId("looks").querySelector(`[value=${this.look}]`).checked = true;
    byId("cards").classList.toggle("as-rows", this.look === "rows");
    this.#later();
  }
}

/** A student's card. */
class CardView {
  /** @param {string} id of the student */
  constructor(id) {
    this.name = element("a", { className: "card-name", href: `#open=${id}` });
    this.what = element("span", { className: "card-what", "aria-hidden": "true" });
    this.aloud = element("span", { className: "unseen" });
    this.tempo = element("span", { className: "card-tempo" });
    this.range = element("span", { className: "card-range", "aria-hidden": "true" });
    this.doing = element("p", { className: "card-doing" });
    this.strips = new StripsDrawing();
    const tune = element("p", { className: "card-tune" }, this.what, " ", this.range, this.aloud, " ", this.tempo);
    this.item = element("li", { className: "card" }, element("h2", {}, this.name), tune, this.doing, this.strips.svg);
    this.item.dataset.student = id;
  }

  /**
   * @param {Card} card
   * @param {{away: boolean, rows: number, now: Date}} how `away`: whether it stands among those who are not at practice
   */
  show(card, { away, rows, now }) {
    const stuck = card.here && card.stuck !== null;
    const { classList } = this.item;
    classList.toggle("away", away);
    classList.toggle("stuck", stuck);
    classList.toggle("playing", card.here && card.marks !== null);
    classList.toggle("not-here", !card.here);
    put(this.name, card.name);
    const tune = card.here || !away ? card.tune : "";
    put(this.what, tune === "" ? "" : DESK.now.what(card));
    put(this.aloud, tune === "" ? "" : DESK.now.whatAloud(card));
    put(this.range, tune === "" ? "" : DESK.now.range(card));
    put(this.tempo, tune === "" ? "" : DESK.now.tempo(card.tempo));
    const doing = stuck ? DESK.now.stuck(card) : card.here ? DESK.now.doing(card) : DESK.now.away(card, now);
    put(this.doing, card.watched && !stuck ? `${doing} · ${DESK.now.looked}` : doing);
    this.strips.svg.toggleAttribute("hidden", away || tune === "");
    if (!away && tune !== "") {
      this.strips.show(strips(card, rows), DESK.now.strips(card, shownPasses(card, rows)));
    }
  }
}

/**
 * @param {HTMLElement} node
 * @param {string} words
 */
function put(node, words) {
  if (node.textContent !== words) {
    node.textContent = words;
  }
}

/** @param {string} key */
function kept(key) {
  try {
    return localStorage.getItem(key);
  } catch {
    return null; // storage is refused
  }
}

/**
 * @param {string} key
 * @param {string} value
 */
function keep(key, value) {
  try {
    localStorage.setItem(key, value);
  } catch {
    // storage is refused: it holds until the page is closed
  }
}
