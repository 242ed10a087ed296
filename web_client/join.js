/**
 * The page of an invitation. Its token stands behind the # of the address, which browsers send nowhere.
 *
 * @module join
 */

import { onSend, trying } from "./access.js";
import { ask } from "./asked.js";
import { ACCESS } from "./access_english.js";
import { byId, element } from "./dom.js";

const token = location.hash.slice(1);
const form = byId("join");

void trying(async () => {
  if (!/^[A-Za-z0-9_-]{20,100}$/.test(token)) {
    byId("to-sign-in").hidden = false;
    throw new Error(ACCESS.join.broken);
  }
  const invitation = await ask("people/invitation", { token }).catch((error) => {
    byId("to-sign-in").hidden = false;
    throw error;
  });
  const { studio, role, person } = invitation;
  const title = person !== "" ? ACCESS.join.back(studio) : role === "teacher" ? ACCESS.join.teacher(studio) : ACCESS.join.student(studio);
  byId("title").textContent = title;
  document.title = title;
  byId("by").textContent = ACCESS.join.by(invitation.by, invitation.expires);
  byId("again").textContent = person === "" ? "" : ACCESS.join.again(person);
  for (const id of ["name-field", "name-hint"]) {
    byId(id).hidden = person !== "";
  }
  form.elements.name.required = person === "";
  byId("guardian-field").hidden = role === "teacher";
  byId("consent").replaceChildren(...invitation.consent.words.map((/** @type {string} */ words) => element("li", {}, words)));
  form.hidden = false;
});

onSend(form, async () => {
  const { name, agrees, guardian } = form.elements;
  await ask("people/join", { token, name: name.value, agrees: agrees.checked, guardian: guardian.checked });
  location.replace("account.html?new"); // a way to come back is what is needed next
});
