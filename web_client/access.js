/**
 * What the pages share by which people come in: asking the service, and saying what came of it.
 *
 * @module access
 */

import { ACCESS } from "./access_english.js";
import { byId } from "./dom.js";

/**
 * @typedef {object} Who
 * @property {boolean} studio whether the service has studios
 * @property {null | {id: string, name: string, role: "alone" | "teacher" | "student", studio: {id: string, name: string}}} person
 * @property {boolean} has_password
 * @property {{id: string, name: string, added: string}[]} passkeys
 * @property {{id: string, name: string, began: string, seen: string, here: boolean}[]} devices
 * @property {null | {version: string, given: string, guardian: boolean}} consent
 */

/**
 * Asks the service.
 *
 * @param {string} path
 * @param {Record<string, any>} [body] posted as JSON; without one it is fetched
 * @returns {Promise<any>} rejected with a sentence
 */
export async function ask(path, body) {
  const how = body === undefined
    ? {}
    : { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) };
  const answer = await fetch(path, how).catch(() => {
    throw new Error(ACCESS.away);
  });
  const told = await answer.json().catch(() => null);
  if (!answer.ok) {
    throw new Error(told?.text ?? ACCESS.odd(answer.status));
  }
  return told;
}

/** @returns {Promise<Who>} */
export function whoIsHere() {
  return ask("who.json");
}

/** @param {string} words empty to take them away */
export function say(words) {
  byId("words").textContent = words;
}

/**
 * Does something that may be refused, once at a time, and says why where it is.
 *
 * @param {() => Promise<void>} run
 */
export async function trying(run) {
  say("");
  document.body.setAttribute("aria-busy", "true");
  try {
    await run();
  } catch (error) {
    say(/** @type {Error} */ (error).message);
  } finally {
    document.body.removeAttribute("aria-busy");
  }
}

/**
 * Has a form do something when it is sent.
 *
 * @param {HTMLFormElement} form
 * @param {() => Promise<void>} run
 */
export function onSend(form, run) {
  let busy = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (busy) {
      return;
    }
    busy = true;
    await trying(run);
    busy = false;
  });
}

/** @param {Who} who goes to the page where this person begins */
export function enter(who) {
  location.replace(who.person?.role === "teacher" ? "desk.html" : "./");
}
