/**
 * The people of the studio: who they are, how they come in, and what they leave behind.
 *
 * @module desk_people
 */

import { ask, trying } from "./asked.js";
import { DESK } from "./desk_english.js";
import { byId, element } from "./dom.js";

/**
 * @typedef {{id: string, name: string, role: "teacher" | "student", began: string, practised: string, devices: number,
 *   has_password: boolean, passkeys: number}} Person
 * @typedef {{id: string, role: string, person: string | null, by: string, made: string, expires: string,
 *   used: string | boolean | null}} Invitation
 */

/** The view "People". */
export class PeopleView {
  /** @param {() => string} me the id of the teacher at this desk, empty while it is not known */
  constructor(me) {
    this.me = me;
    this.words = byId("people-words");
    byId("invite").addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      const { role, days } = byId("invite").elements;
      void this.#invite({ role: role.value, person: null, days: Number(days.value) }, "");
    });
    byId("link-copy").addEventListener("click", () => void this.#copy());
  }

  /** Shows who is there now; a link that was shown is not shown again. */
  async open() {
    this.words.textContent = "";
    byId("link").hidden = true;
    byId("link-text").value = "";
    await this.renew();
  }

  /** Asks anew. */
  async renew() {
    await trying(this.words, async () => {
      const { people, invitations } = await ask("studio.json");
      this.#showPeople(people);
      this.#showInvitations(invitations, people);
    });
  }

  /** @param {Person[]} people */
  #showPeople(people) {
    const open = new Set([...byId("people-list").querySelectorAll("details[open]")].map((one) => one.dataset.person));
    const order = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
    const sorted = [...people].sort(
      (a, b) => Number(a.role === "student") - Number(b.role === "student") || order.compare(a.name, b.name),
    );
    const items = sorted.map((person) => this.#item(person, open.has(person.id)));
    if (!people.some(({ role }) => role === "student")) {
      items.push(element("li", { className: "hint" }, DESK.people.nobody));
    }
    byId("people-list").replaceChildren(...items);
  }

  /**
   * @param {Person} person
   * @param {boolean} open whether their access and data are shown
   */
  #item(person, open) {
    const { id, name, role } = person;
    const mine = id === this.me();
    const note = mine ? DESK.people.you : role === "teacher" ? DESK.people.teacher : "";
    const head = element("h2", {}, name, ...(note === "" ? [] : [" ", element("small", {}, note)]));
    const facts = element("p", { className: "hint" }, DESK.people.facts(person, new Date()));
    if (role === "teacher") {
      return element("li", {}, head, facts);
    }
    const ways = element(
      "p",
      { className: "files ways" },
      element("a", { href: `#open=${id}`, "aria-label": `${DESK.people.open}: ${name}` }, DESK.people.open),
      element("a", { href: `week.html?student=${id}`, "aria-label": `${DESK.people.week}: ${name}` }, DESK.people.week),
    );
    const summary = element("summary", {}, DESK.people.more, element("span", { className: "unseen" }, `: ${name}`));
    const details = element("details", { open }, summary, ...this.#access(person));
    details.dataset.person = id;
    return element("li", {}, head, facts, ways, details);
  }

  /** @param {Person} person a student */
  #access({ id, name }) {
    const back = element("button", { type: "button" }, DESK.people.back);
    back.addEventListener("click", () => void this.#invite({ role: "student", person: id, days: 7 }, name));
    const out = element("button", { type: "button", className: "quiet" }, DESK.people.out);
    out.addEventListener("click", () =>
      void trying(this.words, async () => {
        await ask(`studio/people/${id}/sign-out`, {});
        await this.renew();
        this.words.textContent = DESK.people.outDone(name);
      }),
    );
    const field = element("input", { type: "text", name: "name", autocomplete: "off", maxLength: 80, required: true });
    const forget = element(
      "form",
      { className: "forget" },
      element("p", { className: "hint" }, DESK.people.forgetHint),
      element("label", {}, DESK.people.forgetName(name), " ", field),
      element("p", { className: "buttons" }, element("button", { type: "submit" }, DESK.people.forget)),
    );
    forget.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      void this.#forget(id, name, field.value.trim());
    });
    return [
      element("p", { className: "buttons" }, back, out),
      element("p", { className: "hint" }, DESK.people.backHint),
      element("p", { className: "files" }, element("a", { href: `people/${id}/export.zip`, download: "" }, DESK.people.export)),
      forget,
    ];
  }

  /**
   * @param {string} id
   * @param {string} name
   * @param {string} typed
   */
  async #forget(id, name, typed) {
    if (typed !== name) {
      this.words.textContent = DESK.people.notTheName;
      return;
    }
    await trying(this.words, async () => {
      await ask(`people/${id}/forget`, { name: typed });
      await this.renew();
      this.words.textContent = DESK.people.forgotten(name);
      byId("people-head").focus(); // what was pressed is gone
    });
  }

  /**
   * @param {{role: string, person: string | null, days: number}} what
   * @param {string} name of who is to come back, empty for somebody new
   */
  async #invite(what, name) {
    await trying(this.words, async () => {
      const { link, expires } = await ask("studio/invitations", what);
      byId("link").hidden = false;
      byId("link-words").textContent =
        name === "" ? DESK.people.link(what.role, expires) : DESK.people.linkBack(name, expires);
      byId("link-text").value = link;
      byId("link-copied").textContent = "";
      await this.renew();
      byId("link-text").focus();
      byId("link-text").select();
    });
  }

  async #copy() {
    const field = byId("link-text");
    field.select();
    try {
      await navigator.clipboard.writeText(field.value);
      byId("link-copied").textContent = DESK.people.copied;
    } catch {
      field.focus(); // the browser does not let a page copy: it is chosen for the keys
      byId("link-copied").textContent = DESK.people.copyByHand;
    }
  }

  /**
   * @param {Invitation[]} invitations
   * @param {Person[]} people
   */
  #showInvitations(invitations, people) {
    const out = invitations.filter(({ used, expires }) => !used && new Date(expires) > new Date());
    byId("invitations-none").hidden = out.length > 0;
    const items = out.map((invitation) => {
      const person = people.find(({ id }) => id === invitation.person)?.name ?? "";
      const words = DESK.people.invitation(invitation, person);
      const withdraw = element("button", { type: "button", className: "quiet", "aria-label": `${DESK.people.withdraw}: ${words}` }, DESK.people.withdraw);
      withdraw.addEventListener("click", () =>
        void trying(this.words, async () => {
          await ask(`studio/invitations/${invitation.id}/withdraw`, {});
          byId("link").hidden = true; // it may be the one
          await this.renew();
          this.words.textContent = DESK.people.withdrawn;
          byId("people-head").focus();
        }),
      );
      return element("li", { className: "row" }, element("span", {}, words), withdraw);
    });
    byId("invitations").replaceChildren(...items);
  }
}
