/**
 * What the pages share by which people come in: saying what came of what was asked.
 *
 * @module access
 */

import { byId } from "./dom.js";

/** @typedef {import("./asked.js").Who} Who */

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

/** Where the studio and the name of the last time are kept: on this device alone. */
const KEPT = "coach-signed-in-as";

/**
 * Keeps whose password is asked for, for the page by which people come back.
 *
 * @param {Pick<Who, "person">} who
 */
export function remember({ person }) {
  localStorage.setItem(KEPT, JSON.stringify({ studio: person?.studio.id, name: person?.name }));
}

/** @returns {{studio?: string, name?: string}} whose password was asked for last */
export function remembered() {
  return JSON.parse(localStorage.getItem(KEPT) ?? "{}");
}

/** @param {Who} who goes to the page where this person begins */
export function enter(who) {
  location.replace(who.person?.role === "teacher" ? "desk.html" : "./");
}
