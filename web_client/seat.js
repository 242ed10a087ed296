/**
 * Which session the page joins, and the name of its own input there.
 *
 * @module seat
 */

const NAME = /^[a-z0-9-]{1,40}$/;

/**
 * The session of the page's address, `?session=name`.
 *
 * @param {Location} place
 * @returns {string} `home` where none, or none that can be a name, is given
 */
export function sessionOf(place) {
  const asked = new URLSearchParams(place.search).get("session") ?? "";
  return NAME.test(asked) ? asked : "home";
}

/**
 * The seat: each open page has its own, since notes are numbered by seat; a page that is loaded again keeps it, so
 * that a pass goes on.
 *
 * @param {Storage} storage of this tab
 * @param {Performance} performance
 * @returns {string}
 */
export function seatOf(storage, performance) {
  const [entry] = /** @type {PerformanceNavigationTiming[]} */ (performance.getEntriesByType("navigation"));
  const kept = storage.getItem("seat");
  if (entry?.type === "reload" && kept !== null && NAME.test(kept)) {
    return kept;
  }
  const digits = [...crypto.getRandomValues(new Uint8Array(4))].map((byte) => byte.toString(16).padStart(2, "0"));
  const seat = `pad-${digits.join("")}`;
  storage.setItem("seat", seat);
  return seat;
}
