// The few rows about the phone itself: its device id and counter, how far it has pulled, what can be undone.

import { NotSaved, plainStore, row } from './connection.js';

/** @typedef {import('./types.js').Phone} Phone */
/** @typedef {import('./types.js').SyncState} SyncState */

export const PHONE = 'phone';
export const SYNC = 'sync';
export const INDEXED = 'indexed';

const EPOCH_BYTES = 4;

/** A device that has never been heard of. @returns {Phone} */
export function newPhone() {
  const epoch = [...crypto.getRandomValues(new Uint8Array(EPOCH_BYTES))];
  return {
    device: crypto.randomUUID(),
    epoch: epoch.map((byte) => byte.toString(16).padStart(2, '0')).join(''),
    counter: 0,
    sentTo: 0,
    newest: null,
    undo: [],
  };
}

/** Nothing was pulled yet. @returns {SyncState} */
export const newSync = () => ({
  cursor: 0,
  firstHead: 0,
  incarnation: null,
  scope: null,
  full: null,
  fullCursor: 0,
  backedUp: 0,
  verified: null,
  mismatch: false,
  recount: false,
  answeredTo: 0,
  stragglers: [],
  toTake: [],
  fullPulls: 0,
  at: null,
});

/**
 * A row that is there from the first opening on. If it is not, the browser has cleared what was open, and made it anew.
 *
 * @template T
 * @param {Tx} tx @param {string} name @returns {Promise<T>}
 */
async function always(tx, name) {
  const found = await row(tx, 'meta', name);
  if (found === undefined) throw new NotSaved('storage-cleared', name);
  return /** @type {T} */ (found);
}

/** @param {Tx} tx @returns {Promise<Phone>} */
export const getPhone = (tx) => always(tx, PHONE);

/** Everything that writes the phone's row does it here: by its version another tab's write is seen. @param {Tx} tx @param {Phone} phone */
export function putPhone(tx, phone) {
  const next = { ...phone, version: (phone.version ?? 0) + 1 };
  plainStore(tx, 'meta').put(next, PHONE);
  return next;
}

/** @param {Tx} tx @returns {Promise<SyncState>} */
export const getSync = (tx) => always(tx, SYNC);

/** @param {Tx} tx @param {Partial<SyncState>} change */
export async function changeSync(tx, change) {
  const next = { ...(await getSync(tx)), ...change };
  await tx.objectStore('meta').put(next, SYNC);
  return next;
}
