/**
 * Gives a tune that was written down to the service, as a file like any other.
 *
 * @module enter_give
 */

import { abcOf, fileName } from "./abc_tune.js";
import { TEXT } from "./english.js";

/** The service does not take it; its message is the sentence that says why. */
export class Refused extends Error {}

/**
 * @param {import("./enter_tune.js").Draft} draft
 * @returns {Promise<{id: string, title: string, complaints: string[]}>} what the tune book calls it; rejected with
 *   {@link Refused}, or with another error where the service could not be reached
 */
export async function give(draft) {
  const form = new FormData();
  const abc = abcOf(draft, TEXT.enter.untitled);
  form.append("file", new File([abc], fileName(draft, TEXT.enter.untitled), { type: "text/vnd.abc" }));
  const answer = await fetch("tunes", { method: "POST", body: form });
  const told = await answer.json();
  if (!answer.ok) {
    throw new Refused(told.text);
  }
  return told;
}
