/**
 * The words of the pages by which people come in, and of their account. Another language is another file like this one.
 *
 * Pure: no document.
 *
 * @module access_english
 */

/** @param {string} time RFC 3339 */
function day(time) {
  return new Date(time).toLocaleDateString("en-GB", { day: "numeric", month: "long", year: "numeric" });
}

export const ACCESS = Object.freeze({
  away: "The coach does not answer. See that you are online, and try again.",
  odd: (/** @type {number} */ status) => `The coach answered ${status}, without a word why. Try again in a minute.`,
  noPasskeys: "This browser has no passkeys, or the page was not called over https. Use the password.",
  passkeyLeft: "No passkey was used. Try again, or use the password.",
  leaving: "Signing out…",
  join: {
    broken: "This is not the whole link. Copy all of it from the message of your teacher.",
    student: (/** @type {string} */ studio) => `Come into ${studio}`,
    teacher: (/** @type {string} */ studio) => `Teach in ${studio}`,
    back: (/** @type {string} */ studio) => `Back into ${studio}`,
    by: (/** @type {string} */ by, /** @type {string} */ expires) =>
      by === "" ? `It works once, until ${day(expires)}.` : `${by} sent you this link. It works once, until ${day(expires)}.`,
    again: (/** @type {string} */ person) =>
      `You come back as ${person}. Other devices are signed out, and password and passkeys are set anew.`,
  },
  account: {
    title: (/** @type {string} */ name) => name,
    begin: { student: "Begin to practise", teacher: "To the desk", alone: "Begin to practise" },
    role: { student: "Student of", teacher: "Teacher in" },
    consent: (/** @type {{version: string, given: string, guardian: boolean}} */ consent) =>
      `Agreed to on ${day(consent.given)}${consent.guardian ? ", by a parent or guardian too" : ""} (the words of ${day(consent.version)}).`,
    here: "This device",
    device: (/** @type {{began: string, seen: string}} */ device) =>
      `signed in on ${day(device.began)}, seen on ${day(device.seen)}`,
    added: (/** @type {string} */ added) => `added on ${day(added)}`,
    noKeys: "No passkey yet.",
    remove: "Remove",
    removed: "The passkey is removed.",
    kept: "The passkey is kept. From now on it signs you in.",
    passwordSet: "The password is set.",
    hasPassword: (/** @type {string} */ studio, /** @type {string} */ name) =>
      `You have a password. With it you come back as ${name} in the studio ${studio}. A new one takes its place.`,
    noPassword: "You have no password yet: with one you can come back from any device.",
    notTheName: "Type your name as it stands above, then it can be deleted.",
    gone: "All of it is deleted. Goodbye, and thank you for the music.",
  },
});
