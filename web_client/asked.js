/**
 * Asking the service, and who it says is here.
 *
 * @module asked
 */

import { ACCESS } from "./access_english.js";

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

/**
 * Does what asks the service, and says beside it what was refused.
 *
 * @param {HTMLElement} words where that is said; empty else
 * @param {() => Promise<void>} run
 */
export async function trying(words, run) {
  words.textContent = "";
  try {
    await run();
  } catch (error) {
    words.textContent = /** @type {Error} */ (error).message;
  }
}
