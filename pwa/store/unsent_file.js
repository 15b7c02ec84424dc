// Unsent work as a file: what a person can carry to the server by hand when nothing else works.

import { NotSaved } from '../storage/connection.js';
import { FORMAT, FORMAT_VERSION } from '../sync/carried.js';

const CHUNK = 0x8000;

/**
 * Everything that is only on this phone, as a file. What is in it counts as sent: it is never rewritten afterwards.
 *
 * @param {import('../storage/site_storage.js').SiteStorage} storage
 * @returns {Promise<Blob>}
 */
export async function unsentFile(storage) {
  const waiting = await storage.waiting();
  await storage.markSent(Math.max(0, ...waiting.map(({ n }) => n))).catch((error) => {
    // A phone that can no longer write may still be read: that is what this file is for.
    if (!(error instanceof NotSaved)) throw error;
  });
  const [phone, refused, photos, recovered] = await Promise.all([
    storage.phone(),
    storage.refused(),
    photosOf(storage),
    storage.recovered(),
  ]);
  const content = {
    format: FORMAT,
    version: FORMAT_VERSION,
    site: storage.site,
    person: storage.person,
    device: phone.device,
    epoch: phone.epoch,
    made_at: storage.now(),
    operations: waiting.map(({ op }) => op),
    refused: refused.map(({ op, code, facts }) => ({ operation: op, code, facts })),
    photos,
    // Nothing takes these in by itself: what others had entered, for people to read.
    recovered,
  };
  return new Blob([JSON.stringify(content)], { type: 'application/json' });
}

/** @param {import('../storage/site_storage.js').SiteStorage} storage */
async function photosOf(storage) {
  const unsent = (await storage.photosHere()).filter((photo) => !photo.received);
  const bytes = await Promise.all(unsent.map((photo) => storage.photoBytes(photo.sha256)));
  return unsent.map(({ sha256, record, at }, place) => ({
    sha256,
    record,
    at,
    jpeg_base64: base64(bytes[place]),
  }));
}

/** @param {ArrayBuffer | undefined} buffer */
function base64(buffer) {
  if (!buffer) return null;
  const bytes = new Uint8Array(buffer);
  let text = '';
  for (let at = 0; at < bytes.length; at += CHUNK)
    text += String.fromCharCode(...bytes.subarray(at, at + CHUNK));
  return btoa(text);
}
