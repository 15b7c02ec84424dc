// What is only on this phone: how much of it, and what the server lost that an old copy still knew.

import * as answers from './answers.js';
import { getPhone } from './meta.js';
import { countConflicts } from './records.js';

/** @typedef {import('./types.js').PhotoRow} PhotoRow */
/** @typedef {import('./types.js').Refused} Refused */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

const COUNTED = ['outbox', 'photos', 'refused', 'recovered', 'records', 'meta'];

/**
 * How much is only on this phone, and how much is in conflict.
 *
 * @param {SiteStorage} storage @returns {Promise<import('./types.js').Counts>}
 */
export const counts = (storage) =>
  storage.run(COUNTED, 'readonly', async (tx) => {
    const [{ version = 0 }, operations, photos, refused, recoveredRows, conflicts] = await Promise.all([
      getPhone(tx),
      answers.countWaiting(tx),
      tx.objectStore('photos').getAll(),
      tx.objectStore('refused').getAll(),
      tx.objectStore('recovered').count(),
      countConflicts(tx),
    ]);
    const unsent = photos.filter((/** @type {PhotoRow} */ row) => !row.received);
    const stopped = unsent.filter((/** @type {PhotoRow} */ row) => row.refused).length;
    const undone = refused.filter((/** @type {Refused} */ { code }) => !answers.HELD.has(code));
    const stuck = undone.length + stopped;
    return {
      operations,
      photos: unsent.length,
      refused: stuck,
      recovered: recoveredRows,
      conflicts,
      version,
    };
  });

/** What only the old copy knew when the server had been set back. @param {SiteStorage} storage @returns {Promise<import('./types.js').Recovered[]>} */
export const recovered = (storage) =>
  storage.run(['recovered'], 'readonly', async (tx) => {
    const store = tx.objectStore('recovered');
    const [rows, keys] = await Promise.all([store.getAll(), store.getAllKeys()]);
    return rows.map((row, place) => ({ ...row, key: keys[place] }));
  });

/** A person has dealt with these. @param {SiteStorage} storage @param {number[]} keys */
export const forgetRecovered = (storage, keys) =>
  storage.run(['recovered'], 'readwrite', async (tx) => {
    for (const key of keys) await tx.objectStore('recovered').delete(key);
  });
