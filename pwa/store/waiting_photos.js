// Photos taken in a form that is not saved yet: the camera of a small phone ends the page, and a pocket does.

import { keepWaitingBytes, waitingBytes } from '../storage/waiting_photos.js';
import { encodePhoto } from './pictures.js';

/** @typedef {import('./site.js').Site} OpenSite */

/** @param {OpenSite} site @param {string} form its name, the same whenever it opens @returns {Promise<Blob[]>} in the order in which they were taken */
export async function waitingPhotos(site, form) {
  const kept = await waitingBytes(site.storage, form);
  return kept.map((bytes) => new Blob([bytes], { type: 'image/jpeg' }));
}

/** Keep the photos of a form in place of those kept before, as small as they are sent. @param {OpenSite} site @param {string} form @param {Blob[]} photos */
export const keepWaitingPhotos = (site, form, photos) =>
  inTurn(async () => {
    const bytes = [];
    for (const blob of photos) bytes.push(await bytesOf(blob));
    await keepWaitingBytes(site.storage, form, bytes);
  });

/** @type {Promise<unknown>} */
let queue = Promise.resolve();

/** One after another: what was kept last is what stays, however long each photo takes. @param {() => Promise<void>} work @returns {Promise<void>} */
function inTurn(work) {
  const next = queue.then(work, work);
  queue = next.catch(() => {});
  return next;
}

/** A photo made small; what is none is told of when it is saved. @param {Blob} blob @returns {Promise<ArrayBuffer>} */
async function bytesOf(blob) {
  try {
    return (await encodePhoto(blob)).bytes;
  } catch {
    return blob.arrayBuffer();
  }
}

/**
 * Put photos to the record that their form made; each is kept until it is.
 *
 * @param {OpenSite} site @param {string} form @param {{subject: string, purpose: string}} of @param {Blob[]} photos
 * @param {(left: Blob[]) => void} [onLeft] told after each, so that none goes twice where the next one fails
 */
export async function addWaitingPhotos(site, form, of, photos, onLeft = () => {}) {
  for (const [at, blob] of photos.entries()) {
    await site.addPhoto({ ...of, blob });
    onLeft(photos.slice(at + 1));
    await keepWaitingPhotos(site, form, photos.slice(at + 1));
  }
}
