/**
 * What a teacher does for a student, as the student sees it: a sign while they listen, offers that wait for a word, what
 * is set, and words pinned to measures.
 *
 * @module studio
 */

import { ask } from "./asked.js";
import { byId, element } from "./dom.js";
import { drawSlips } from "./studio_signs.js";
import { STUDIO as TEXT } from "./studio_english.js";

/**
 * @typedef {{id: string, tune: string, title: string, tier: string, mix: number[], goal: number, until: string,
 *   words: string, by: string, cap: number | null, cap_until: string, rules: string, reached: number | null}} Assignment
 * @typedef {{id: string, measure: number, words: string, by: string, made: string, seen: boolean}} Pin
 */

/** The parts of the page that belong to the studio; they are made here, since a page without one has none. */
export class StudioView {
  /**
   * @param {import("./state.js").Practice} practice
   * @param {import("./paper.js").Paper} paper
   * @param {(message: import("./messages.js").Message) => void} send
   * @param {(settings: Record<string, any>) => void} change
   * @param {(words: string) => void} say
   */
  constructor(practice, paper, send, change, say) {
    this.practice = practice;
    this.paper = paper;
    this.send = send;
    this.change = change;
    this.say = say;
    this.#nameWho();
    this.offer = element("section", { id: "offer", className: "offer", "aria-live": "assertive", hidden: true });
    byId("watched").after(this.offer);
    this.set = slip("set-by-teacher", TEXT.set.head);
    this.pinned = slip("pinned", TEXT.pins.head);
    byId("margin").prepend(this.set, this.pinned);
    /** @type {Pin[]} */
    this.pins = [];
    practice.on("offer", () => this.#showOffer());
    practice.on("assigned", () => this.#showSet());
    practice.on("pins", () => this.#showPins());
    practice.on("state", () => {
      this.#showSet();
      this.#showPins();
    });
    practice.on("line", (up) => {
      if (!up) {
        this.offer.hidden = true; // it is told anew when the line is back
      }
    });
    this.#showOffer();
    this.#showSet();
    this.#showPins();
  }

  /** Another sheet is shown: its measures are signed again. */
  signed() {
    drawSlips(this.paper.sheet.svg, this.pins);
  }

  /** The way to the own account, to the desk of who teaches, and to the week. */
  #nameWho() {
    const { person, role } = this.practice.hello;
    const links = [element("a", { href: "account.html", title: TEXT.account(person) }, person)];
    if (role === "teacher") {
      links.unshift(element("a", { href: "desk.html" }, "Desk"));
    }
    byId("to-progress").before(...links);
  }

  #showOffer() {
    const offer = this.practice.studio.get("offer") ?? { id: 0 };
    this.offer.hidden = offer.id === 0;
    if (offer.id === 0) {
      this.offer.replaceChildren();
      return;
    }
    const answer = (/** @type {string} */ words, /** @type {Record<string, boolean>} */ answer) => {
      const button = element("button", { type: "button", className: answer.yes ? "" : "quiet" }, words);
      button.addEventListener("click", () => {
        this.send({ kind: "answer", offer: offer.id, ...answer });
        this.offer.hidden = true;
        if (!answer.yes) {
          this.say(TEXT.declined);
        }
      });
      return button;
    };
    this.offer.replaceChildren(
      element("p", {}, TEXT.offer(/** @type {any} */ (offer))),
      element(
        "p",
        { className: "buttons" },
        answer(TEXT.agree, { yes: true }),
        answer(TEXT.decline, { yes: false }),
        answer(TEXT.always, { yes: true, always: true }),
      ),
    );
  }

  #showSet() {
    /** @type {Assignment[]} */
    const assignments = this.practice.studio.get("assigned")?.assignments ?? [];
    this.set.hidden = assignments.length === 0;
    keepFocus(this.set, assignments.map((one) => this.#assignment(one)));
  }

  /** @param {Assignment} assignment */
  #assignment(assignment) {
    const { id, tune, tier, mix, goal, until, words, rules, reached } = assignment;
    const { state } = this.practice;
    const now = state?.tune === tune && state.tier === tier && state.mix.join() === mix.join();
    const facts = [
      ...(until === "" ? [] : [TEXT.set.until(until)]),
      TEXT.set.reached(reached),
    ];
    const button = element("button", { type: "button", id: `practise-${id}` }, TEXT.set.practise);
    button.addEventListener("click", () => this.change({ tune, tier, mix, goal, whole: true, jam: false }));
    return element(
      "div",
      { className: "assignment" },
      element("p", { className: "assignment-what" }, TEXT.set.what(assignment)),
      element("p", { className: "hint" }, facts.join("; ")),
      ...(words === "" ? [] : [element("p", { className: "teacher-words" }, words)]),
      ...(rules === "" ? [] : [element("p", { className: "hint" }, rules)]),
      now ? element("p", { className: "hint" }, TEXT.set.now) : element("p", { className: "buttons" }, button),
    );
  }

  #showPins() {
    const told = this.practice.studio.get("pins");
    this.pins = told !== undefined && told.tune === this.practice.state?.tune ? told.pins : [];
    this.pinned.hidden = this.pins.length === 0;
    keepFocus(this.pinned, this.pins.map((pin) => this.#pin(pin)));
    drawSlips(this.paper.sheet.svg, this.pins);
  }

  /** @param {Pin} pin */
  #pin({ id, measure, words, by, made, seen }) {
    const go = element("button", { type: "button", className: "quiet", id: `to-pin-${id}` }, TEXT.pins.measure(measure));
    go.addEventListener("click", () => this.paper.go(measure));
    const read = element("button", { type: "button", className: "quiet", id: `read-${id}` }, TEXT.pins.read);
    read.addEventListener("click", () => ask(`pins/${id}/seen`, {}).catch((error) => this.say(error.message)));
    return element(
      "div",
      { className: `pinned${seen ? "" : " unread"}` },
      element("p", { className: "teacher-words" }, words),
      element("p", { className: "hint" }, TEXT.pins.by(by, made)),
      element("p", { className: "buttons" }, go, ...(seen ? [] : [read])),
    );
  }
}

/**
 * @param {string} id
 * @param {string} head
 */
function slip(id, head) {
  const heading = element("h2", { id: `${id}-head` }, head);
  return element("section", { id, className: "slip", "aria-labelledby": heading.id, hidden: true }, heading);
}

/**
 * Shows other things under the heading of a slip; what had the focus keeps it, where it is still there.
 *
 * @param {HTMLElement} slip
 * @param {HTMLElement[]} inside
 */
function keepFocus(slip, inside) {
  const focused = slip.contains(document.activeElement) ? document.activeElement?.id : "";
  slip.replaceChildren(/** @type {HTMLElement} */ (slip.firstElementChild), ...inside);
  if (focused) {
    document.getElementById(focused)?.focus();
  }
}
