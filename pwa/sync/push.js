// Operations out, answers in, a batch at a time.

import { operationHash } from './canonical.js';

/** @typedef {import('../storage/site_storage.js').SiteStorage} SiteStorage */
/** @typedef {import('../storage/types.js').Waiting} Waiting */
/** @typedef {import('./transport.js').Transport} Transport */

export const MOST_OPERATIONS = 1000;
export const MOST_BYTES = 500_000;
const TOO_LARGE = 413;

/**
 * The first of what waits that go into one request.
 *
 * @param {Waiting[]} waiting in order
 * @param {number} [mostBytes] of JSON; a single larger operation goes alone
 * @returns {Waiting[]}
 */
export function batchOf(waiting, mostBytes = MOST_BYTES) {
  let bytes = 0;
  const fits = waiting.slice(0, MOST_OPERATIONS).findIndex((each, place) => {
    bytes += JSON.stringify(each.op).length;
    return place > 0 && bytes > mostBytes;
  });
  return waiting.slice(0, fits < 0 ? MOST_OPERATIONS : fits);
}

/**
 * Send everything that waits. Returns when the outbox is empty.
 *
 * @param {SiteStorage} storage
 * @param {Transport} transport
 * @param {(told: {refused: number}) => void} [onAnswers] after each batch was taken in
 */
export async function pushAll(storage, transport, onAnswers = () => {}) {
  let mostBytes = MOST_BYTES;
  for (;;) {
    const batch = batchOf(await storage.waiting(MOST_OPERATIONS), mostBytes);
    if (batch.length === 0) return;
    await storage.markSent(batch);
    const answer = await send(storage, transport, batch).catch((error) => {
      if (error.status === TOO_LARGE && batch.length > 1) return null;
      throw error;
    });
    if (answer === null) {
      mostBytes = Math.ceil(mostBytes / 2);
      continue;
    }
    const told = await storage.answered(answer.answers, answer);
    if (told.forks > 0) await takeNewName(storage);
    onAnswers(told);
  }
}

/** @param {SiteStorage} storage @param {Transport} transport @param {Waiting[]} batch */
async function send(storage, transport, batch) {
  const [phone, sync, counts] = await Promise.all([storage.phone(), storage.syncState(), storage.counts()]);
  return transport.push({
    device: phone.device,
    epoch: phone.epoch,
    incarnation: sync.incarnation,
    scope: sync.scope,
    unsent: { operations: Math.max(0, counts.operations - batch.length), photos: counts.photos },
    operations: batch.map((waiting) => waiting.op),
  });
}

/** Another phone goes by this one's name. @param {SiteStorage} storage */
async function takeNewName(storage) {
  const waiting = await storage.waiting();
  const hashes = await Promise.all(waiting.map(({ op }) => operationHash(op)));
  await storage.takeNewName(new Map(waiting.map(({ id }, place) => [id, hashes[place]])));
}
