/**
 * What is set: the form, for some students or the whole class, and how far each has come with it.
 *
 * @module desk_set
 */

import { ask } from "./asked.js";
import { byTitle } from "./book_list.js";
import { DESK } from "./desk_english.js";
import { measuresTyped, together } from "./desk_form.js";
import { byId, element } from "./dom.js";
import { TEXT } from "./english.js";

/** @typedef {import("./desk_form.js").Assigned} Assigned */
/** @typedef {{id: string, name: string, role: string}} Person */

/** The view "Set". */
export class SetView {
  constructor() {
    this.form = byId("assign");
    this.words = byId("assign-words");
    this.class = byId("whole-class");
    this.students = byId("assign-students");
    this.sending = false;
    this.class.addEventListener("click", () => this.#all(this.class.getAttribute("aria-pressed") !== "true"));
    this.students.addEventListener("change", () => this.#count());
    this.form.elements.policy.addEventListener("change", () => this.#policy());
    this.form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      void this.#send();
    });
  }

  /**
   * Shows what is set now.
   *
   * @param {string} student who is chosen beforehand, empty for nobody
   */
  async open(student) {
    this.words.textContent = "";
    await this.renew();
    const box = this.students.querySelector(`[value="${student}"]`);
    if (student !== "" && box !== null) {
      this.#all(false);
      box.checked = true;
      this.#count();
    }
  }

  /** Asks anew. */
  async renew() {
    try {
      const [studio, book, set] = await Promise.all([ask("studio.json"), ask("tunes.json"), ask("assignments.json")]);
      this.#showStudents(studio.people.filter((/** @type {Person} */ { role }) => role === "student"));
      this.#showTunes(book.tunes);
      this.#showSet(set.assignments);
    } catch (error) {
      this.words.textContent = /** @type {Error} */ (error).message;
    }
  }

  /** @param {Person[]} people */
  #showStudents(people) {
    const chosen = new Set(this.#chosen());
    const fresh = people.map(({ id, name }) => {
      const box = element("input", { type: "checkbox", name: "student", value: id, checked: chosen.has(id) });
      return element("label", { className: "tick" }, box, ` ${name}`);
    });
    this.students.replaceChildren(...fresh);
    this.class.disabled = people.length === 0;
    if (people.length === 0) {
      this.students.append(element("p", { className: "hint" }, DESK.set.noStudents));
    }
    this.#count();
  }

  /** @param {import("./messages.js").TuneLine[]} tunes */
  #showTunes(tunes) {
    const { tune } = this.form.elements;
    const { value } = tune;
    const option = (/** @type {import("./messages.js").TuneLine} */ one) => element("option", { value: one.id }, TEXT.book.tune(one));
    const sorted = byTitle(tunes);
    const studies = sorted.filter(({ study }) => study).map(option);
    tune.replaceChildren(
      ...sorted.filter(({ study }) => !study).map(option),
      ...(studies.length === 0 ? [] : [element("optgroup", { label: TEXT.book.studies }, ...studies)]),
    );
    if (value !== "" && tunes.some(({ id }) => id === value)) {
      tune.value = value;
    }
    if (tunes.length === 0) {
      this.words.textContent = DESK.set.noTunes;
    }
  }

  /** @returns {string[]} */
  #chosen() {
    return [...this.students.querySelectorAll(":checked")].map(({ value }) => value);
  }

  /** @param {boolean} all */
  #all(all) {
    for (const box of this.students.querySelectorAll("input")) {
      box.checked = all;
    }
    this.#count();
  }

  #count() {
    const count = this.#chosen().length;
    const all = count > 0 && count === this.students.querySelectorAll("input").length;
    this.class.setAttribute("aria-pressed", String(all));
    byId("assign-send").textContent = DESK.set.send(count, all);
  }

  #policy() {
    byId("steps-fields").hidden = this.form.elements.policy.value !== "steps";
  }

  async #send() {
    const { elements } = this.form;
    const mix = measuresTyped(elements.mix.value);
    const students = this.#chosen();
    const wrong = students.length === 0 ? DESK.set.nobody : mix === null ? DESK.set.unread : "";
    if (wrong !== "" || this.sending) {
      this.words.textContent = wrong;
      return;
    }
    const amount = (/** @type {string} */ name) => (elements[name].value === "" ? null : Number(elements[name].value));
    const steps = elements.policy.value === "steps";
    this.sending = true;
    try {
      await ask("assignments", {
        students: this.class.getAttribute("aria-pressed") === "true" ? null : students,
        tune: elements.tune.value,
        tier: elements.tier.value,
        mix,
        goal: Number(elements.goal.value),
        until: elements.until.value,
        policy: elements.policy.value || null,
        step: steps ? amount("step") : null,
        clean_needed: steps ? amount("clean_needed") : null,
        tolerance_ms: amount("tolerance_ms"),
        cap: amount("cap"),
        cap_until: elements.cap_until.value,
        words: elements.words.value.trim(),
      });
      elements.mix.value = elements.words.value = "";
      await this.renew();
      this.words.textContent = DESK.set.done(students.length);
    } catch (error) {
      this.words.textContent = /** @type {Error} */ (error).message;
    } finally {
      this.sending = false;
    }
  }

  /** @param {Assigned[]} assignments */
  #showSet(assignments) {
    const groups = together(assignments);
    byId("assigned-none").hidden = groups.length > 0;
    byId("assigned").replaceChildren(...groups.map((group) => this.#group(group)));
  }

  /** @param {Assigned[]} group the same for several students */
  #group(group) {
    const [one] = group;
    const head = element("h3", {}, DESK.set.what(one));
    const facts = DESK.set.facts(one).map((text) => element("p", { className: "hint" }, text));
    const rows = group.map((each) => this.#row(each));
    const all = element("button", { type: "button", className: "quiet" }, DESK.set.endAll);
    all.addEventListener("click", () => void this.#end(group));
    return element(
      "section",
      { className: "assigned" },
      head,
      ...facts,
      element("ul", { className: "plain reached" }, ...rows),
      ...(group.length > 1 ? [element("p", { className: "buttons" }, all)] : []),
    );
  }

  /** @param {Assigned} one */
  #row(one) {
    const share = Math.min(1, (one.reached ?? 0) / one.goal);
    const bar = element("span", { className: "reached-bar", "aria-hidden": "true" }, element("span", {}));
    bar.firstElementChild.style.width = `${Math.round(share * 100)}%`;
    const end = element("button", { type: "button", className: "quiet", "aria-label": DESK.set.endLong(one.student_name, one.title) }, DESK.set.end);
    end.addEventListener("click", () => void this.#end([one]));
    const words = `${DESK.set.reached(one.reached)}${share >= 1 ? " ✓" : ""}`;
    return element(
      "li",
      {},
      element("span", { className: "reached-name" }, one.student_name),
      bar,
      element("span", { className: "reached-words" }, words, element("span", { className: "unseen" }, share >= 1 ? `, ${DESK.set.goal}` : "")),
      end,
    );
  }

  /** @param {Assigned[]} group */
  async #end(group) {
    try {
      await Promise.all(group.map(({ id }) => ask(`assignments/${id}/end`, {})));
    } catch (error) {
      this.words.textContent = /** @type {Error} */ (error).message;
    }
    await this.renew();
    byId("assigned-head").focus(); // what was pressed is gone
  }
}
