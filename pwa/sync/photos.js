// Photos, after the records: one request each, until the server has given its receipt.

import { isNoRoom, waitsForRoom } from '../storage/connection.js';
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
 * @returns {Promise<number>} how many the server has now
 */
export async function sendPhotos(storage, transport, onPhoto = () => {}) {
  let sent = 0;
  for (const { sha256, received, refused } of await storage.photosHere()) {
    if (received || refused) continue;
    if (await sendPhoto(storage, transport, sha256)) sent += 1;
    onPhoto();
  }
  if ((await storage.dropArrivedPhotos()) > 0) onPhoto();
  return sent;
}

/**
 * On a full phone, which can note nothing: what waits of photos goes all the same, and those that the server has go from here.
 *
 * @param {SiteStorage} storage
 * @param {Transport} transport
 * @param {() => void} onPhoto after each photo
 * @param {boolean} photosToo whether photos may be sent now
 * @returns {Promise<boolean>} whether there may be room now
 */
export async function makeRoom(storage, transport, onPhoto, photosToo) {
  let sent = 0;
  let gone = 0;
  try {
    if (photosToo) sent = await sendPhotos(storage, transport, onPhoto);
  } finally {
    gone = await storage.letReceivedGo();
  }
  if (gone > 0) onPhoto();
  return sent + gone > 0;
}

/** @param {SiteStorage} storage @param {Transport} transport @param {string} sha256 @returns {Promise<boolean>} whether the server has it */
async function sendPhoto(storage, transport, sha256) {
  const bytes = await storage.photoBytes(sha256);
  if (!bytes) {
    await noteRefused(storage, sha256, { code: 'phone.photo-lost', facts: { sha256 } });
    return false;
  }
  try {
    const receipt = await transport.putPhoto(sha256, bytes);
    if (receipt.sha256 !== sha256) throw new NoAnswer('server-failed', 'receipt-of-another-photo');
  } catch (error) {
    if (!(error instanceof NoAnswer) || !OF_THE_PHOTO.has(error.status)) throw error;
    await noteRefused(storage, sha256, { code: error.code, facts: error.facts });
    return false;
  }
  await noteReceived(storage, sha256);
  return true;
}

/** What cannot be noted for want of room goes with its copy: the server has it. @param {SiteStorage} storage @param {string} sha256 */
const noteReceived = (storage, sha256) =>
  storage.photoReceived(sha256).catch((error) => {
    if (!isNoRoom(error)) throw error;
    return storage.letReceivedGo(sha256);
  });

/** Where there is no room to note it, it is sent and refused once more another time; the next photo goes meanwhile. @param {SiteStorage} storage @param {string} sha256 @param {{code: string, facts: Facts}} reason */
const noteRefused = (storage, sha256, reason) => storage.photoRefused(sha256, reason).catch(waitsForRoom);
