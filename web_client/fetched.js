/**
 * What the service serves beside its messages: fetched, or refused in its own words.
 *
 * @module fetched
 */

import { TEXT } from "./english.js";

/**
 * Fetches from the service.
 *
 * @param {string} url
 * @param {AbortSignal} [signal]
 * @returns {Promise<Response>} rejected with a sentence where it cannot be had, and with an `AbortError` by the signal
 */
export async function fetched(url, signal) {
  const answer = await fetch(url, { signal }).catch((error) => {
    throw error instanceof TypeError ? new Error(TEXT.line.away) : error; // Fetch: a TypeError is a network's
  });
  if (!answer.ok) {
    const told = await answer.json().catch(() => ({}));
    throw new Error(told.text ?? answer.statusText);
  }
  return answer;
}
