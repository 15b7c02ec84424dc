// Photos on this phone: kept as bytes until the server has given its receipt and a pull has shown them attached.

import { waitsForRoom } from './connection.js';
import { getSync } from './meta.js';
import { IDENTITY, shown } from './records.js';
import { roomFrom } from './summaries.js';
import { noteRecords, noteRows } from './touched.js';

/** @typedef {import('./types.js').PhotoRow} PhotoRow */
/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

/** The purpose of a photo whose picture stays on every phone of the site: it is asked for where there is no signal. */
const PLAN = 'floor-plan';

/** Whether a record is a floor plan that is not removed. @param {LocalRecord | undefined} record */
const isPlan = (record) =>
  record !== undefined && !record.removed && shown(record, IDENTITY)?.value.purpose === PLAN;

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
    noteRecords(tx, []);
    noteRows(tx, []);
    const row = /** @type {PhotoRow | undefined} */ (await tx.objectStore('photos').get(sha256));
    if (!row || row.received) return;
    await tx.objectStore('photos').put({ ...row, received: true, refused: undefined });
    const room = await roomFrom(row.record, (id) => tx.objectStore('records').get(id));
    const summary = room && (await tx.objectStore('summaries').get(room.id));
    if (!summary) return;
    const after = { ...summary, photos_unsent: summary.photos_unsent - 1 };
    await tx.objectStore('summaries').put(after);
    noteRows(tx, [{ room: room.id, after }]);
  });
}

/**
 * Let photos go that the server has, though no pull has shown them attached, or there is no room to note the receipt: a full
 * phone takes nothing in but what makes room. Nothing is written but what is deleted.
 *
 * @param {SiteStorage} storage
 * @param {string} [sha256] of one that the server has just answered for; else all that are noted as received
 * @returns {Promise<number>} how many pictures went
 */
export async function letReceivedGo(storage, sha256) {
  const rows = (await photosHere(storage)).filter(
    (row) => row.sha256 === sha256 || (!sha256 && row.received),
  );
  if (rows.length === 0) return 0;
  // The rooms' rows still count it as not sent.
  storage.rowsBehind ||= rows.some((row) => !row.received);
  const gone = await deletePhotos(storage, rows);
  if (storage.rowsBehind) await storage.noteSync({ recount: true }).catch(waitsForRoom);
  return gone;
}

/** @param {SiteStorage} storage @param {PhotoRow[]} rows @returns {Promise<number>} how many pictures went */
function deletePhotos(storage, rows) {
  return storage.run(['photos', 'photo_bytes', 'records'], 'readwrite', async (tx) => {
    noteRecords(tx, []);
    let gone = 0;
    for (const each of rows) {
      await tx.objectStore('photos').delete(each.sha256);
      if (isPlan(await tx.objectStore('records').get(each.record))) continue;
      await tx.objectStore('photo_bytes').delete(each.sha256);
      gone += 1;
    }
    return gone;
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
    noteRecords(tx, []);
    const { cursor } = await getSync(tx);
    let dropped = 0;
    for (const { sha256, record } of rows) {
      const stored = /** @type {LocalRecord | undefined} */ (await tx.objectStore('records').get(record));
      const attached = stored?.facets.identity;
      if (!attached || attached.seq > cursor) continue;
      await tx.objectStore('photos').delete(sha256);
      if (!isPlan(stored)) await tx.objectStore('photo_bytes').delete(sha256);
      dropped += 1;
    }
    return dropped;
  });
}

/** Floor plans of the site, by the hash of their pictures. @param {Tx} tx @returns {Promise<string[]>} */
async function plansOf(tx) {
  const floors = await tx.objectStore('records').index('type').getAllKeys('floor');
  const refs = tx.objectStore('records').index('refs');
  const found = await Promise.all(floors.map((floor) => refs.getAll(floor)));
  return found
    .flat()
    .filter(isPlan)
    .map((photo) => shown(photo, IDENTITY).value.sha256);
}

/** Floor plans whose pictures are not on this phone, by their hashes. @param {SiteStorage} storage @returns {Promise<string[]>} */
export function plansLacking(storage) {
  return storage.run(['records', 'photo_bytes'], 'readonly', async (tx) => {
    const here = new Set(await tx.objectStore('photo_bytes').getAllKeys());
    return [...new Set(await plansOf(tx))].filter((sha256) => !here.has(sha256));
  });
}

/** A floor plan's picture has come. @param {SiteStorage} storage @param {string} sha256 @param {ArrayBuffer} bytes */
export function keepPlan(storage, sha256, bytes) {
  return storage.run(['photo_bytes'], 'readwrite', (tx) => tx.objectStore('photo_bytes').put(bytes, sha256));
}

/** Let pictures go that are neither on their way to the server nor plans of a floor any more. @param {SiteStorage} storage @returns {Promise<number>} how many */
export function dropOldPlans(storage) {
  return storage.run(['records', 'photos', 'photo_bytes'], 'readwrite', async (tx) => {
    noteRecords(tx, []);
    const here = await tx.objectStore('photo_bytes').getAllKeys();
    if (here.length === 0) return 0;
    const wanted = new Set([...(await tx.objectStore('photos').getAllKeys()), ...(await plansOf(tx))]);
    const old = here.filter((sha256) => !wanted.has(sha256));
    for (const sha256 of old) await tx.objectStore('photo_bytes').delete(sha256);
    return old.length;
  });
}
