// Photos taken in a form that is not saved yet: kept as bytes, through a page that ends meanwhile.

import { row } from './connection.js';

/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

/** @param {string} form its name, the same whenever it opens */
const keyOf = (form) => `waiting-photos.${form}`;

/** @param {SiteStorage} storage @param {string} form @returns {Promise<ArrayBuffer[]>} */
export async function waitingBytes(storage, form) {
  const kept = await storage.run(['meta'], 'readonly', (tx) => row(tx, 'meta', keyOf(form)));
  return /** @type {ArrayBuffer[] | undefined} */ (kept) ?? [];
}

/** @param {SiteStorage} storage @param {string} form @param {ArrayBuffer[]} photos none: nothing is kept any more */
export const keepWaitingBytes = (storage, form, photos) =>
  storage.run(['meta'], 'readwrite', async (tx) => {
    const meta = tx.objectStore('meta');
    if (photos.length > 0) await meta.put(photos, keyOf(form));
    else await meta.delete(keyOf(form));
  });
