/**
 * The page of somebody's own account: ways to come back, devices, and what is kept of them.
 *
 * @module account
 */

import { onSend, remember, say, trying } from "./access.js";
import { ask, whoIsHere } from "./asked.js";
import { ACCESS } from "./access_english.js";
import { byId, element } from "./dom.js";
import { created, havePasskeys } from "./passkey.js";

const { account: TEXT } = ACCESS;
const keyForm = byId("add-key");
const passwordForm = byId("set-password");
const forgetForm = byId("forget");

let person = /** @type {NonNullable<import("./asked.js").Who["person"]> | null} */ (null);

/** Shows the account as it is now. */
async function show() {
  const who = await whoIsHere();
  if (who.person === null || !who.studio) {
    location.replace(who.studio ? "sign-in.html" : "./");
    return;
  }
  person = who.person;
  const { name, role, studio, id } = person;
  byId("title").textContent = TEXT.title(name);
  byId("role").textContent = role === "alone" ? "" : `${TEXT.role[role]} ${studio.name}`;
  byId("to-desk").hidden = role !== "teacher";
  byId("begin").textContent = TEXT.begin[role];
  byId("begin").href = role === "teacher" ? "desk.html" : "./";
  byId("welcome").hidden = !new URLSearchParams(location.search).has("new");
  byId("keys").replaceChildren(...who.passkeys.map((key) => row(key.name, TEXT.added(key.added), removal(key.id))));
  byId("password-now").textContent = who.has_password ? TEXT.hasPassword(studio.id, name) : TEXT.noPassword;
  passwordForm.elements.username.value = name;
  byId("devices").replaceChildren(
    ...who.devices.map((device) => row(device.here ? TEXT.here : device.name, TEXT.device(device))),
  );
  byId("consent").textContent = who.consent === null ? "" : TEXT.consent(who.consent);
  byId("export").href = `people/${id}/export.zip`;
  keyForm.hidden = !havePasskeys();
  byId("no-keys").hidden = havePasskeys() && who.passkeys.length > 0;
  byId("no-keys").textContent = havePasskeys() ? TEXT.noKeys : ACCESS.noPasskeys;
  byId("account").hidden = false;
}

/**
 * @param {string} name
 * @param {string} facts
 * @param {...HTMLElement} more
 */
function row(name, facts, ...more) {
  return element("li", {}, element("span", {}, element("b", {}, name), ` ${facts}`), ...more);
}

/** @param {string} id of a passkey */
function removal(id) {
  const button = element("button", { type: "button", className: "quiet" }, TEXT.remove);
  button.addEventListener("click", () => trying(async () => {
    await ask(`people/passkeys/${id}/remove`, {});
    await show();
    say(TEXT.removed);
  }));
  return button;
}

/** @param {boolean} everywhere */
function signOut(everywhere) {
  return trying(async () => {
    say(ACCESS.leaving);
    await ask("people/sign-out", { everywhere });
    location.replace("sign-in.html");
  });
}

onSend(keyForm, async () => {
  const options = await ask("people/passkey-options", {});
  const credential = await created(options).catch(() => {
    throw new Error(ACCESS.passkeyLeft);
  });
  const { name } = keyForm.elements;
  await ask("people/passkeys", { credential, name: name.value.trim() || name.placeholder });
  keyForm.reset();
  await show();
  say(TEXT.kept);
});

onSend(passwordForm, async () => {
  await ask("people/password", { password: passwordForm.elements.password.value });
  passwordForm.reset();
  remember({ person });
  await show();
  say(TEXT.passwordSet);
});

onSend(forgetForm, async () => {
  const { name } = forgetForm.elements;
  if (person === null || name.value.trim() !== person.name) {
    throw new Error(TEXT.notTheName);
  }
  await ask(`people/${person.id}/forget`, { name: person.name });
  byId("account").hidden = true;
  byId("role").textContent = "";
  say(TEXT.gone);
});

byId("sign-out").addEventListener("click", () => signOut(false));
byId("sign-out-all").addEventListener("click", () => signOut(true));
void trying(show);
