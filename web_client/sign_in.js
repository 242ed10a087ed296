/**
 * The page by which people come back.
 *
 * @module sign_in
 */

import { enter, onSend, remember, remembered, trying } from "./access.js";
import { ask, whoIsHere } from "./asked.js";
import { ACCESS } from "./access_english.js";
import { byId } from "./dom.js";
import { asserted, havePasskeys } from "./passkey.js";

const form = byId("by-password");
const { studio, name, password } = form.elements;

const last = remembered();
studio.value = new URLSearchParams(location.search).get("studio") ?? last.studio ?? "";
name.value = last.name ?? "";

onSend(form, async () => {
  const who = await ask("people/sign-in", { studio: studio.value.trim(), name: name.value, password: password.value });
  remember(who);
  enter(who);
});

byId("by-passkey").hidden = !havePasskeys();
byId("passkey").addEventListener("click", () => trying(async () => {
  const options = await ask("people/passkey-sign-in-options", {});
  const credential = await asserted(options).catch(() => {
    throw new Error(ACCESS.passkeyLeft);
  });
  enter(await ask("people/passkey-sign-in", { credential }));
}));

void trying(async () => {
  const who = await whoIsHere();
  if (who.person !== null) {
    enter(who);
  }
});
