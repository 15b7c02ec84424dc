// Passkeys as the browser has them: whether it has, making one, showing one. What travels is the browser's own JSON.

/** @typedef {Record<string, unknown>} Json What is asked of a passkey, and what it answers. */

/**
 * What browsers have of WebAuthn Level 3, and TypeScript's own library not everywhere.
 *
 * @typedef {object} FromJson
 * @property {(options: Json) => PublicKeyCredentialCreationOptions} parseCreationOptionsFromJSON
 * @property {(options: Json) => PublicKeyCredentialRequestOptions} parseRequestOptionsFromJSON
 */

/** Whether this browser makes and shows passkeys on this page. */
export const mayPasskey = () =>
  typeof PublicKeyCredential !== 'undefined' && 'parseCreationOptionsFromJSON' in PublicKeyCredential;

const fromJson = () => /** @type {FromJson} */ (/** @type {unknown} */ (PublicKeyCredential));

/**
 * Make a passkey, as the server asks for it.
 *
 * @param {Json} options @returns {Promise<Json>}
 * @throws {DOMException} called off, or too late
 */
export async function makePasskey(options) {
  const publicKey = fromJson().parseCreationOptionsFromJSON(options);
  return toJson(await navigator.credentials.create({ publicKey }));
}

/**
 * Show a passkey, as the server asks for it.
 *
 * @param {Json} options @returns {Promise<Json>}
 * @throws {DOMException} called off, or too late
 */
export async function showPasskey(options) {
  const publicKey = fromJson().parseRequestOptionsFromJSON(options);
  return toJson(await navigator.credentials.get({ publicKey }));
}

/** @param {Credential | null} credential */
function toJson(credential) {
  return /** @type {Json} */ (
    /** @type {{toJSON: () => unknown}} */ (/** @type {unknown} */ (credential)).toJSON()
  );
}
