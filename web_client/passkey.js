/**
 * Passkeys (W3C Web Authentication, Level 3): options and credentials as the service writes them, which is JSON with
 * base64url for bytes, and as browsers want them.
 *
 * Pure but for {@link created} and {@link asserted}, which ask the browser.
 *
 * @module passkey
 */

/**
 * @param {string} text base64url without padding (RFC 4648, section 5)
 * @returns {Uint8Array}
 */
export function bytesOf(text) {
  const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(plain, (sign) => sign.charCodeAt(0));
}

/**
 * @param {ArrayBuffer} buffer
 * @returns {string} base64url without padding
 */
export function textOf(buffer) {
  const plain = String.fromCharCode(...new Uint8Array(buffer));
  return btoa(plain).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

/**
 * Options to make a passkey, as the browser wants them.
 *
 * @param {any} options `PublicKeyCredentialCreationOptionsJSON`
 */
export function toCreate(options) {
  return {
    ...options,
    challenge: bytesOf(options.challenge),
    user: { ...options.user, id: bytesOf(options.user.id) },
    excludeCredentials: described(options.excludeCredentials),
  };
}

/**
 * Options to use one, as the browser wants them.
 *
 * @param {any} options `PublicKeyCredentialRequestOptionsJSON`
 */
export function toUse(options) {
  return {
    ...options,
    challenge: bytesOf(options.challenge),
    allowCredentials: described(options.allowCredentials),
  };
}

/** @param {{id: string}[] | undefined} list */
function described(list) {
  return (list ?? []).map((one) => ({ ...one, id: bytesOf(one.id) }));
}

/**
 * A credential as the service reads it.
 *
 * @param {any} credential a `PublicKeyCredential`
 */
export function written(credential) {
  const { response } = credential;
  /** @type {Record<string, string | null>} */
  const bytes = { clientDataJSON: textOf(response.clientDataJSON) };
  for (const name of ["attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (response[name]) {
      bytes[name] = textOf(response[name]);
    }
  }
  return {
    id: credential.id,
    rawId: textOf(credential.rawId),
    type: credential.type,
    response: bytes,
    clientExtensionResults: credential.getClientExtensionResults(),
  };
}

/** Whether this browser, on a page called like this one, has passkeys. */
export function havePasskeys() {
  return isSecureContext && "PublicKeyCredential" in window;
}

/**
 * Makes a passkey.
 *
 * @param {any} options as the service gives them
 */
export async function created(options) {
  return written(await navigator.credentials.create({ publicKey: toCreate(options) }));
}

/**
 * Signs in by one.
 *
 * @param {any} options as the service gives them
 */
export async function asserted(options) {
  return written(await navigator.credentials.get({ publicKey: toUse(options) }));
}
