// The record id of a label: made from its code, so that two bindings of one code meet in one record.

/** The namespace for names that are addresses (RFC 9562, 6.6). */
const NAMESPACE = '6ba7b811-9dad-11d1-80b4-00c04fd430c8';

/** @param {string} id @returns {Uint8Array} */
const bytesOf = (id) =>
  Uint8Array.from(id.replaceAll('-', '').match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));

/**
 * UUID version 5 of `spanwalk:label:` and the code.
 *
 * @param {string} code @returns {Promise<string>}
 */
export async function labelId(code) {
  const name = new TextEncoder().encode(`spanwalk:label:${code}`);
  const hash = new Uint8Array(
    await crypto.subtle.digest('SHA-1', new Uint8Array([...bytesOf(NAMESPACE), ...name])),
  );
  const id = hash.slice(0, 16);
  id[6] = (id[6] & 0x0f) | 0x50;
  id[8] = (id[8] & 0x3f) | 0x80;
  const text = [...id].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return text.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
}
