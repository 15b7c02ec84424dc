// Putting away what a phone has of a site: all that the server has goes, what is only here stays until it is sent or in a file.

import { HELD, waitingIn } from './answers.js';
import { plainStore } from './connection.js';
import { getPhone, getSync, newSync, putPhone, SYNC } from './meta.js';
import { emptyRecord, isNothing, reindex } from './records.js';
import { STORES } from './schema.js';
import { noSums, putSums } from './sums.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').PhotoRow} PhotoRow */
/** @typedef {import('./types.js').Refused} Refused */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

/** Stores that hold nothing which is only here. */
const ALL_SENT = ['answered', 'answers', 'staging', 'summaries'];

/** @typedef {{operations: number, photos: number, refused: number, recovered: number}} Left What is only on this phone. */

/**
 * Put away what the server has, in one transaction. What stays is shown again once all has been pulled anew.
 *
 * @param {SiteStorage} storage
 * @returns {Promise<Left>} what stays
 */
export async function putAway(storage) {
  await storage.takeAnswersIn();
  const left = await storage.run(STORES, 'readwrite', (tx) => putAwayIn(tx, storage.pointers));
  storage.forgetWays();
  return left;
}

/** @param {Tx} tx @param {import('./records.js').Pointers} pointers @returns {Promise<Left>} */
async function putAwayIn(tx, pointers) {
  const waiting = await waitingIn(tx);
  const refused = await keepOnly(
    tx,
    'refused',
    // What a manager decides about has arrived: it need not be kept here.
    (/** @type {Refused} */ { code }) => !HELD.has(code),
    (row) => row.id,
  );
  const counters = new Set(waiting.map(({ n }) => n));
  await keepOnly(
    tx,
    'outbox',
    (/** @type {{n: number}} */ { n }) => counters.has(n),
    (row) => row.n,
  );
  const photos = await keepOnly(
    tx,
    'photos',
    (/** @type {PhotoRow} */ { received }) => !received,
    (row) => row.sha256,
  );
  await keepBytes(tx, new Set(photos.map(({ sha256 }) => sha256)));
  await keepOwnRecords(tx, new Set([...waiting, ...refused].map(({ id }) => id)), pointers);
  for (const name of ALL_SENT) plainStore(tx, name).clear();
  await beginAnew(tx);
  const recovered = await tx.objectStore('recovered').count();
  return { operations: waiting.length, photos: photos.length, refused: refused.length, recovered };
}

/**
 * @template Row
 * @param {Tx} tx @param {string} name @param {(row: Row) => boolean} wanted @param {(row: Row) => IDBValidKey} keyOf
 * @returns {Promise<Row[]>} what stays
 */
async function keepOnly(tx, name, wanted, keyOf) {
  const rows = /** @type {Row[]} */ (await tx.objectStore(name).getAll());
  for (const row of rows) if (!wanted(row)) plainStore(tx, name).delete(keyOf(row));
  return rows.filter(wanted);
}

/** @param {Tx} tx @param {Set<string>} wanted hashes of photos */
async function keepBytes(tx, wanted) {
  for (const sha256 of /** @type {string[]} */ (await tx.objectStore('photo_bytes').getAllKeys()))
    if (!wanted.has(sha256)) plainStore(tx, 'photo_bytes').delete(sha256);
}

/** Of the records only what this phone has changed and not sent. @param {Tx} tx @param {Set<string>} own ids of operations @param {import('./records.js').Pointers} pointers */
async function keepOwnRecords(tx, own, pointers) {
  const rows = /** @type {LocalRecord[]} */ (await tx.objectStore('records').getAll());
  const records = plainStore(tx, 'records');
  records.clear();
  for (const { id, type, mine, settling } of rows) {
    /** @type {LocalRecord} */
    const kept = {
      ...emptyRecord(id, type),
      mine: Object.fromEntries(Object.entries(mine).filter(([, { op }]) => own.has(op))),
      settling: Object.fromEntries(Object.entries(settling).filter(([, op]) => own.has(op))),
    };
    if (isNothing(kept)) continue;
    reindex(kept, pointers);
    records.put(kept);
  }
}

/** As after the first opening, but for the phone's name and what of its operations was answered. @param {Tx} tx */
async function beginAnew(tx) {
  const { answeredTo, stragglers, fullPulls } = await getSync(tx);
  const sync = { ...newSync(), answeredTo, stragglers, fullPulls, full: 'put-away', recount: true };
  plainStore(tx, 'meta').put(sync, SYNC);
  const phone = await getPhone(tx);
  putPhone(tx, { ...phone, newest: null, undo: [], uncounted: 0, recounts: (phone.recounts ?? 0) + 1 });
  putSums(tx, noSums());
}
