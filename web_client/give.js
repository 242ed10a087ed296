/**
 * Gives a file to the service's tune book.
 *
 * @module give
 */

/** The service does not take it; its message is the sentence that says why. */
export class Refused extends Error {}

/**
 * @param {File} file
 * @returns {Promise<{id: string, title: string, tunes: {title: string}[], complaints: string[]}>} what the tune book calls its first tune;
 *   rejected with {@link Refused}, or with another error where the service could not be reached
 */
export async function give(file) {
  const form = new FormData();
  form.append("file", file);
  const answer = await fetch("tunes", { method: "POST", body: form });
  const told = await answer.json();
  if (!answer.ok) {
    throw new Refused(told.text);
  }
  return told;
}
