// One operation that the server cannot take must not hold back the others: it is found by halving, and shown as refused.

import { NoAnswer } from './transport.js';

/** @typedef {import('./transport.js').Transport} Transport */
/** @typedef {import('./transport.js').Packed} Packed */
/** @typedef {import('../storage/types.js').Operation} Operation */
/** @typedef {import('./push.js').PushAnswer} PushAnswer */

/** The server failed on what it was sent, or could not read it. */
const BY_ITS_CONTENT = new Set([422, 500]);

/** Whether one operation of a push may be why it was not taken. @param {unknown} error */
export const mayBeOne = (error) => error instanceof NoAnswer && BY_ITS_CONTENT.has(error.status);

/**
 * What became of one operation that was not taken alone: refused, if the server takes a push without it and fails on it again.
 *
 * @param {Transport} transport
 * @param {{packed: Packed, op: Operation, empty: Packed}} what the push of it alone, and the same push without it
 * @returns {Promise<PushAnswer>}
 * @throws {NoAnswer} the server takes nothing at all now: that says nothing of the operation
 */
export async function standsAlone(transport, { packed, op, empty }) {
  const about = await transport.push(empty);
  try {
    return await transport.push(packed);
  } catch (error) {
    if (!mayBeOne(error)) throw error;
    const { code, status } = /** @type {NoAnswer} */ (error);
    const facts = { reason: code, status };
    return { ...about, answers: [{ id: op.id, result: 'refused', code: 'phone.cannot-pass', facts }] };
  }
}
