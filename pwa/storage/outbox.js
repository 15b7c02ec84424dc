// Operations on their way: what waits, what was sent, what was refused.

import { LACKING, sendAnsweredAgain, waitingIn } from './answers.js';
import { countIn } from './counting.js';
import { Edit } from './edit.js';
import { showMine } from './merging.js';
import { changeSync, getPhone, newPhone, putPhone } from './meta.js';
import { enqueue } from './saving.js';

/** @typedef {import('./types.js').Waiting} Waiting */
/** @typedef {import('./types.js').Operation} Operation */
/** @typedef {import('./types.js').Refused} Refused */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

const EDITING = ['records', 'outbox', 'refused', 'summaries', 'meta'];
const SENDING_AGAIN = ['outbox', 'answers', 'answered', 'photos', 'meta', 'staging'];

/** @param {SiteStorage} storage @param {number} [most] @param {number} [after] only those of a higher counter */
export const waiting = (storage, most, after) =>
  storage.run(['outbox', 'meta'], 'readonly', (tx) => waitingIn(tx, most, after));

/** Store, before the first byte leaves, that operations up to a counter may have been seen. @param {SiteStorage} storage @param {number} to */
export function markSent(storage, to) {
  return storage.run(['meta'], 'readwrite', async (tx) => {
    const phone = await getPhone(tx);
    if (to > phone.sentTo) putPhone(tx, { ...phone, sentTo: to });
  });
}

/** @param {SiteStorage} storage @returns {Promise<Refused[]>} */
export async function refused(storage) {
  const rows = await storage.run(['refused'], 'readonly', (tx) => tx.objectStore('refused').getAll());
  return rows.sort((/** @type {Refused} */ a, /** @type {Refused} */ b) => a.n - b.n);
}

/**
 * Send a refused operation again, corrected or as it is, and behind it those that were refused because of it.
 *
 * @param {SiteStorage} storage
 * @param {string} id
 * @param {import('./types.js').Value | null} corrected
 */
export async function retryRefused(storage, id, corrected) {
  const added = await storage.run(EDITING, 'readwrite', async (tx) => {
    const rows = /** @type {Refused[]} */ (await tx.objectStore('refused').getAll());
    const again = withFollowers(rows, id);
    const edit = new Edit(tx, storage.pointers);
    const phone = await getPhone(tx);
    /** @type {Pick<import('./saving.js').Save, 'phone' | 'put' | 'newest'>} */
    const save = { phone, put: [], newest: null };
    for (const row of again) {
      const to = row.id === id && corrected ? corrected : row.op.to;
      const { formerly: _, ...plain } = row.op;
      const op = { ...plain, to, replaces: row.id };
      enqueue(save, op);
      const record = await edit.getOrMake(op.record, op.type);
      if (record.mine[op.facet]?.op === row.id || !record.mine[op.facet]) showMine(record, op);
      await tx.objectStore('refused').delete(row.id);
    }
    for (const waits of save.put) await tx.objectStore('outbox').put(waits);
    const { version } = putPhone(tx, { ...phone, newest: null });
    await writeAll(tx, edit);
    return { version, operations: again.length, photos: 0, refused: -again.length };
  });
  storage.onAdded(added);
  return added.operations;
}

/** Write the records, and the rooms' rows with them. @param {Tx} tx @param {Edit} edit */
async function writeAll(tx, edit) {
  if (await countIn(tx, edit.finish())) await changeSync(tx, { recount: true });
}

/** @param {Refused[]} rows @param {string} id @returns {Refused[]} in the order in which they were made */
function withFollowers(rows, id) {
  const wanted = new Set([id]);
  const sorted = [...rows].sort((a, b) => a.n - b.n);
  for (const row of sorted) if (wanted.has(/** @type {string} */ (row.facts.operation))) wanted.add(row.id);
  return sorted.filter((row) => wanted.has(row.id));
}

/**
 * Send again what was refused for want of a record that has come since: a server set back to a backup gets its records back
 * in whatever order the phones come. After a full pull all of it goes once, for that leaves removed records out.
 *
 * @param {SiteStorage} storage
 * @returns {Promise<number>} how many operations
 */
export async function retryArrived(storage) {
  let again = 0;
  const { fullPulls: now = 0 } = await storage.syncState();
  // An older app did not write down what it knew: nothing, most likely.
  for (const { id, code, facts, lacked = 0, fullPulls = 0 } of await refused(storage)) {
    if (!LACKING.has(code)) continue;
    const record = await storage.run(['records'], 'readonly', (tx) =>
      tx.objectStore('records').get(/** @type {string} */ (facts.value)),
    );
    const hasCome = record && Object.keys(record.facets).length > 0 && record.seq !== lacked;
    if (hasCome || fullPulls < now) again += await retryRefused(storage, id, null);
  }
  return again;
}

/** A person lets a refused operation go. @param {SiteStorage} storage @param {string} id */
export function dropRefused(storage, id) {
  return storage.run(EDITING, 'readwrite', async (tx) => {
    const row = /** @type {Refused | undefined} */ (await tx.objectStore('refused').get(id));
    if (!row) return;
    await tx.objectStore('refused').delete(id);
    const edit = new Edit(tx, storage.pointers);
    const record = await edit.get(row.record);
    if (record?.mine[row.op.facet]?.op === id) await showOlder(tx, record, row.op.facet);
    await writeAll(tx, edit);
  });
}

/** Show what stood behind a change that is gone. @param {Tx} tx @param {import('./types.js').LocalRecord} record @param {string} facet */
async function showOlder(tx, record, facet) {
  const rows = await tx.objectStore('refused').index('record').getAll(record.id);
  const older = rows.filter((/** @type {Refused} */ row) => row.op.facet === facet);
  const newest = older.sort((/** @type {Refused} */ a, /** @type {Refused} */ b) => b.n - a.n)[0];
  delete record.mine[facet];
  if (newest) showMine(record, newest.op, { code: newest.code, facts: newest.facts });
}

/**
 * Another phone goes by the same name: take a new one, and give what waits new ids that say the former ones.
 *
 * @param {SiteStorage} storage
 * @param {Map<string, string>} hashes hash of each waiting operation, by id
 */
export function takeNewName(storage, hashes) {
  return storage.run(EDITING, 'readwrite', async (tx) => {
    const before = await getPhone(tx);
    const { device, epoch } = newPhone();
    const rows = await waitingIn(tx);
    /** @type {Record<string, string>} */
    const names = Object.fromEntries(rows.map(({ n, id }) => [id, `${device}.${epoch}.${n}`]));
    const written = new Map(rows.map(({ id, op }) => [id, op]));
    const edit = new Edit(tx, storage.pointers);
    for (const row of rows) {
      const hash = hashes.get(row.id);
      // Saved after the hashes were made: the next push meets the fork again, with this one named.
      if (hash === undefined) throw new Error('an operation was saved meanwhile');
      const op = renamedOperation(row, names, written, hash);
      await tx.objectStore('outbox').put({ ...row, id: op.id, op });
      renameMine(await edit.getOrMake(op.record, op.type), names);
    }
    await writeAll(tx, edit);
    putPhone(tx, { ...before, device, epoch, newest: null, renamed: names });
    await changeSync(tx, { full: 'fork', fullCursor: 0, firstHead: 0 });
  });
}

/**
 * The first id that it ever had stays the one it is known by. What it has seen is renamed where it is of this phone: the
 * same id may be the other phone's operation, on another record or facet. What it settles or replaces the server has
 * answered, so that it is none of these.
 *
 * @param {Waiting} row @param {Record<string, string>} names
 * @param {Map<string, Operation>} written what waits here, by its former id
 * @param {string} hash
 * @returns {Operation}
 */
function renamedOperation({ op }, names, written, hash) {
  /** @template {string | null} T @param {T} id @param {string} facet @returns {T} */
  const now = (id, facet) => {
    const own = id === null ? undefined : written.get(id);
    const mine = own !== undefined && own.record === op.record && own.facet === facet;
    return /** @type {typeof id} */ (mine ? names[own.id] : id);
  };
  const seen =
    op.seen !== null && typeof op.seen === 'object'
      ? Object.fromEntries(Object.entries(op.seen).map(([facet, id]) => [facet, now(id, facet)]))
      : now(op.seen, op.facet);
  return { ...op, id: names[op.id], seen, formerly: op.formerly ?? { id: op.id, hash } };
}

/** @param {import('./types.js').LocalRecord} record @param {Record<string, string>} names */
function renameMine(record, names) {
  for (const mine of Object.values(record.mine)) mine.op = names[mine.op] ?? mine.op;
  for (const [conflict, op] of Object.entries(record.settling)) record.settling[conflict] = names[op] ?? op;
}

/**
 * The server was set back: what it had answered goes out again, under the same ids, before what waits.
 *
 * @param {SiteStorage} storage
 * @param {string} incarnation
 */
export function serverWasSetBack(storage, incarnation) {
  return storage.run(SENDING_AGAIN, 'readwrite', async (tx) => {
    await sendAnsweredAgain(tx);
    await tx.objectStore('staging').clear();
    // Its receipts were the other's: the photos that are still here go out again too.
    for (const row of await tx.objectStore('photos').getAll())
      await tx.objectStore('photos').put({ ...row, received: false });
    await changeSync(tx, {
      incarnation,
      recount: true,
      full: 'incarnation-changed',
      fullCursor: 0,
      firstHead: 0,
      backedUp: 0,
    });
  });
}
