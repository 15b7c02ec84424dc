// The sum by which this copy is checked against the server, kept by the transaction that changes a record: one row.

import { IN_ONE_GO, plainStore, row, turnEnds } from './connection.js';
import { noteRecords } from './touched.js';
import { addWords, lineHash, writtenSum, zeroWords } from './digest.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */

/**
 * @typedef {object} Sums
 * @property {number} version how it is counted
 * @property {number} count records that have a line
 * @property {number[]} words their sum
 * @property {number} newest newest sequence of any record
 *
 * @typedef {{count: number, sum: string, newest: number}} ToldSums
 */

export const SUMS = 'sums';
const VERSION = 1;
const AT_ONCE = 1000;

/** Nothing counted yet. @returns {Sums} */
export const noSums = () => ({ version: VERSION, count: 0, words: zeroWords(), newest: 0 });

/**
 * Count a record in, or out again.
 *
 * @param {Sums} sums changed in place
 * @param {ArrayLike<number> | null} hashed what it adds
 * @param {1 | -1} [sign]
 */
export function countLine(sums, hashed, sign = 1) {
  if (!hashed) return;
  sums.count += sign;
  addWords(sums.words, hashed, sign);
}

/** @param {Sums} sums changed in place @param {LocalRecord} record */
export function countRecord(sums, record) {
  countLine(sums, lineHash(record));
  sums.newest = Math.max(sums.newest, record.seq);
}

/** @param {Sums} sums @returns {ToldSums} */
const told = ({ count, words, newest }) => ({ count, sum: writtenSum(words), newest });

/** @param {Tx} tx over meta @param {Sums} sums */
export const putSums = (tx, sums) => plainStore(tx, 'meta').put(sums, SUMS);

/**
 * The row, or undefined where an older app kept none, or counted otherwise.
 *
 * @param {Tx} tx over meta
 * @returns {Promise<Sums | undefined>}
 */
async function storedSums(tx) {
  const stored = /** @type {Sums | undefined} */ (await row(tx, 'meta', SUMS));
  return stored?.version === VERSION ? stored : undefined;
}

/** A copy with no record in it yet: from here on all is counted as it comes, and need not be read again for it. @param {Tx} tx over meta */
export async function beginSums(tx) {
  if (!(await storedSums(tx))) putSums(tx, noSums());
}

/**
 * Follow what one transaction has changed. Where nothing was counted yet, nothing is: all is counted at the next check.
 *
 * @param {Tx} tx over meta
 * @param {Map<string, ArrayLike<number> | null>} before what each record added that may have changed
 * @param {Map<string, LocalRecord>} records as they are now
 */
export async function followSums(tx, before, records) {
  if (before.size === 0) return;
  const sums = await storedSums(tx);
  if (!sums) return;
  let done = 0;
  for (const [id, hashed] of before) {
    countLine(sums, hashed, -1);
    const now = records.get(id);
    if (now) countRecord(sums, now);
    done += 1;
    if (done % IN_ONE_GO === 0) await turnEnds(tx, 'meta');
  }
  putSums(tx, sums);
}

/** @param {Tx} tx over meta @returns {Promise<ToldSums | null>} null where nothing was counted yet */
export async function readSums(tx) {
  const stored = await storedSums(tx);
  return stored ? told(stored) : null;
}

/** Count everything anew, and keep that. @param {Tx} tx over records and meta @returns {Promise<ToldSums>} */
export async function recountSums(tx) {
  noteRecords(tx, []);
  const sums = noSums();
  const store = tx.objectStore('records');
  for (let after = ''; ; ) {
    const some = /** @type {LocalRecord[]} */ (
      await store.getAll(IDBKeyRange.lowerBound(after, true), AT_ONCE)
    );
    for (const record of some) countRecord(sums, record);
    if (some.length < AT_ONCE) break;
    after = some[some.length - 1].id;
  }
  putSums(tx, sums);
  return told(sums);
}
