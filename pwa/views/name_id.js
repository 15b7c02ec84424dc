// Ids made from names (UUID version 5, RFC 9562): two who name the same thing apart meet in one record.

/** @param {string} id @returns {Uint8Array} */
const bytesOf = (id) =>
  Uint8Array.from(id.replaceAll('-', '').match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));

/**
 * The id of a name within a namespace.
 *
 * @param {string} namespace a UUID @param {string} name
 * @returns {Promise<string>}
 */
export async function idOfName(namespace, name) {
  const bytes = new Uint8Array([...bytesOf(namespace), ...new TextEncoder().encode(name)]);
  const id = new Uint8Array(await crypto.subtle.digest('SHA-1', bytes)).slice(0, 16);
  id[6] = (id[6] & 0x0f) | 0x50;
  id[8] = (id[8] & 0x3f) | 0x80;
  const text = [...id].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return text.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
}
