// Photos on this phone: kept as bytes until the server has given its receipt and a pull has shown them attached.

import { getSync } from './meta.js';
import { roomFrom } from './summaries.js';

/** @typedef {import('./types.js').PhotoRow} PhotoRow */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

/** All photos on the phone, oldest first. @param {SiteStorage} storage @returns {Promise<PhotoRow[]>} */
export async function photosHere(storage) {
  const rows = await storage.run(['photos'], 'readonly', (tx) => tx.objectStore('photos').getAll());
  return rows.sort((/** @type {PhotoRow} */ a, /** @type {PhotoRow} */ b) => (a.at < b.at ? -1 : 1));
}

/** @param {SiteStorage} storage @param {string} sha256 @returns {Promise<ArrayBuffer | undefined>} */
export const photoBytes = (storage, sha256) =>
  storage.run(['photo_bytes'], 'readonly', (tx) => tx.objectStore('photo_bytes').get(sha256));

/** The server has the photo, whole and on disk. @param {SiteStorage} storage @param {string} sha256 */
export function photoReceived(storage, sha256) {
  return storage.run(['photos', 'records', 'summaries'], 'readwrite', async (tx) => {
    const row = /** @type {PhotoRow | undefined} */ (await tx.objectStore('photos').get(sha256));
    if (!row || row.received) return;
    await tx.objectStore('photos').put({ ...row, received: true, refused: undefined });
    const room = await roomFrom(row.record, (id) => tx.objectStore('records').get(id));
    const summary = room && (await tx.objectStore('summaries').get(room.id));
    if (summary)
      await tx.objectStore('summaries').put({ ...summary, photos_unsent: summary.photos_unsent - 1 });
  });
}

/** The server cannot accept the photo. @param {SiteStorage} storage @param {string} sha256 @param {{code: string, facts: Facts}} refused */
export function photoRefused(storage, sha256, refused) {
  return storage.run(['photos'], 'readwrite', async (tx) => {
    const row = await tx.objectStore('photos').get(sha256);
    if (row) await tx.objectStore('photos').put({ ...row, refused });
  });
}

/** Drop the copies that are no longer needed here. @param {SiteStorage} storage @returns {Promise<number>} how many */
export async function dropArrived(storage) {
  const rows = (await photosHere(storage)).filter((row) => row.received);
  if (rows.length === 0) return 0;
  return storage.run(['photos', 'photo_bytes', 'records', 'meta'], 'readwrite', async (tx) => {
    const { cursor } = await getSync(tx);
    let dropped = 0;
    for (const { sha256, record } of rows) {
      const attached = (await tx.objectStore('records').get(record))?.facets.identity;
      if (!attached || attached.seq > cursor) continue;
      await tx.objectStore('photos').delete(sha256);
      await tx.objectStore('photo_bytes').delete(sha256);
      dropped += 1;
    }
    return dropped;
  });
}
