// What waits for a manager: it is sent once more, under its own id, to learn what has become of it.

import { HELD } from '../storage/answers.js';
import { mayBeOne } from './poison_operation.js';
import { batchOf, envelope } from './push.js';

/** @typedef {import('../storage/site_storage.js').SiteStorage} SiteStorage */
/** @typedef {import('./transport.js').Transport} Transport */
/** @typedef {import('../storage/types.js').Answer} Answer */

/**
 * @param {SiteStorage} storage @param {Transport} transport
 * @returns {Promise<number>} how many are held no longer
 * @throws {import('./transport.js').NoAnswer} the server did not answer: they go on waiting
 */
export async function askOfHeld(storage, transport) {
  const held = (await storage.refused()).filter(({ code }) => HELD.has(code));
  let settled = 0;
  for (let at = 0; at < held.length; ) {
    const batch = batchOf(held.slice(at));
    settled += await storage.takeSettledIn(await answersTo(storage, transport, batch));
    at += batch.length;
  }
  return settled;
}

/** @param {SiteStorage} storage @param {Transport} transport @param {import('../storage/types.js').Waiting[]} batch @returns {Promise<Answer[]>} */
async function answersTo(storage, transport, batch) {
  const about = await envelope(storage);
  try {
    return (await transport.push(await transport.pack({ ...about, operations: batch.map(({ op }) => op) })))
      .answers;
  } catch (error) {
    if (!mayBeOne(error)) throw error;
    return []; // asked again with the next sync
  }
}
