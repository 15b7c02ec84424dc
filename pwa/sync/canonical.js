// What hashes and digests are taken of. Twin: server/spanwalk/sync/canonical.py.

import { canonical, sameValue } from '../storage/canonical.js';

export { canonical, sameValue };

/**
 * SHA-256 of a text in UTF-8, or of bytes, in lower-case hexadecimal.
 *
 * @param {string | ArrayBuffer} content
 * @returns {Promise<string>}
 */
export async function sha256Of(content) {
  const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content;
  const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  return [...hash].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}

/**
 * Hash of what an operation says: all of it but its id and what it was formerly called.
 *
 * @param {import('../storage/types.js').Operation} operation
 */
export function operationHash({ id: _id, formerly: _formerly, ...said }) {
  return sha256Of(canonical(said));
}
