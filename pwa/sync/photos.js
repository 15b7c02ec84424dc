// Photos, after the records: one request each, until the server has given its receipt.

import { NoAnswer } from './transport.js';

/** @typedef {import('../storage/site_storage.js').SiteStorage} SiteStorage */
/** @typedef {import('./transport.js').Transport} Transport */

/** Answers that say something of this photo, not of the server or the session. */
const OF_THE_PHOTO = new Set([400, 413, 415, 422]);

/**
 * Send what has no receipt yet, then drop the copies that are not needed here any more.
 *
 * @param {SiteStorage} storage
 * @param {Transport} transport
 * @param {() => void} [onPhoto] after each photo
 * @returns {Promise<number>} how many were sent
 */
export async function sendPhotos(storage, transport, onPhoto = () => {}) {
  let sent = 0;
  for (const { sha256, received, refused } of await storage.photosHere()) {
    if (received || refused) continue;
    await sendPhoto(storage, transport, sha256);
    sent += 1;
    onPhoto();
  }
  if ((await storage.dropArrivedPhotos()) > 0) onPhoto();
  return sent;
}

/** @param {SiteStorage} storage @param {Transport} transport @param {string} sha256 */
async function sendPhoto(storage, transport, sha256) {
  const bytes = await storage.photoBytes(sha256);
  if (!bytes) {
    await storage.photoRefused(sha256, { code: 'phone.photo-lost', facts: { sha256 } });
    return;
  }
  try {
    const receipt = await transport.putPhoto(sha256, bytes);
    if (receipt.sha256 !== sha256) throw new NoAnswer('server-failed', 'receipt-of-another-photo');
    await storage.photoReceived(sha256);
  } catch (error) {
    if (!(error instanceof NoAnswer) || !OF_THE_PHOTO.has(error.status)) throw error;
    await storage.photoRefused(sha256, { code: error.code, facts: error.facts });
  }
}
