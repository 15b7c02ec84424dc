// Pages of the server's state: taken in one by one beside what this phone has not sent, or gathered to replace the whole copy.

import { sameValue } from './canonical.js';
import { ownOperation } from './answers.js';
import { plainStore } from './connection.js';
import { countIn } from './counting.js';
import { Edit } from './edit.js';
import { isKnown, mergeState, onlyHere, replaceBase, saidBy } from './merging.js';
import { changeSync, getPhone, getSync, putPhone } from './meta.js';
import { isNothing, reindex } from './records.js';
import { countAll } from './summaries.js';
import { beginSums, countRecord, noSums, putSums } from './sums.js';
import { noteRecords, noteRows } from './touched.js';

/** @typedef {import('./types.js').Page} Page */
/** @typedef {import('./types.js').State} State */
/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').SyncState} SyncState */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

const COUNTED_ONE_BY_ONE = 60;
const PULLING = ['records', 'outbox', 'answered', 'summaries', 'recovered', 'meta'];
/** After these, a record that does not come may be gone, be another's to read, or have been written under another phone's ids. */
const MAY_BE_GONE = new Set(['incarnation-changed', 'scope-changed', 'fork']);
const REPLACING = ['records', 'staging', 'summaries', 'photos', 'recovered', 'meta'];

/**
 * Take a page and its cursor in, in one transaction.
 *
 * @param {SiteStorage} storage
 * @param {Page} page
 * @returns {Promise<{missing: boolean}>} `missing`: a value of this phone's own was not found; all is to be pulled again
 */
export function pulled(storage, page) {
  if (page.records.length === 0 && !page.more) return notePage(storage, page);
  const durability = page.records.length > COUNTED_ONE_BY_ONE ? 'relaxed' : 'strict';
  return storage.run(PULLING, 'readwrite', (tx) => takePage(storage, tx, page), durability);
}

/** @param {SiteStorage} storage @param {Page} page */
async function notePage(storage, page) {
  await storage.run(['meta'], 'readwrite', async (tx) => {
    const sync = await getSync(tx);
    await changeSync(tx, pageNoted(sync, page, false, false));
  });
  return { missing: false };
}

/** @param {SiteStorage} storage @param {Tx} tx @param {Page} page */
async function takePage(storage, tx, page) {
  const many = page.records.length > COUNTED_ONE_BY_ONE;
  const edit = new Edit(tx, storage.pointers);
  const sync = await getSync(tx);
  const here = many ? await idsHere(storage, tx, sync) : null;
  if (here?.size === 0) await beginSums(tx);
  await edit.load(page.records.map(({ id }) => id).filter((id) => !here || here.has(id)));
  let missing = false;
  for (const state of page.records) {
    const record = edit.records.get(state.id) ?? edit.make(state.id, state.type);
    if (isKnown(record, state)) {
      edit.leave(state.id);
      continue;
    }
    edit.willChange(record);
    const lacking = mergeState(record, state, () => undefined);
    if (lacking.length > 0) missing = !(await findOwn(tx, record, state, lacking)) || missing;
  }
  const changes = await edit.finishMany();
  await edit.followSums();
  if (many) noteRows(tx, []);
  const behind = many || (await countIn(tx, changes));
  await forgetComeBack(tx, page.records);
  const next = await changeSync(tx, pageNoted(sync, page, missing, behind));
  if (here) {
    for (const { id } of page.records) here.add(id);
    idsRead.set(storage, { ids: here, as: stampOf(await getPhone(tx), next) });
  }
  return { missing };
}

/**
 * Ids of the records that are on this phone after a page, and by what it is known that no other write has added one since.
 *
 * @type {WeakMap<SiteStorage, {ids: Set<string>, as: string}>}
 */
const idsRead = new WeakMap();

/** Every save and every other pull, of whatever tab, makes it another. @param {import('./types.js').Phone} phone @param {SyncState} sync */
const stampOf = (phone, sync) =>
  JSON.stringify([phone.version, phone.counter, { ...sync, at: null, recount: null, mismatch: null }]);

/**
 * Ids of the records that are on this phone, read once for the pages of one pull: a page in a hundred would else read them all.
 * An id of one that has gone since is no fault: it is then read, and not found.
 *
 * @param {SiteStorage} storage @param {Tx} tx @param {SyncState} sync
 */
async function idsHere(storage, tx, sync) {
  const read = idsRead.get(storage);
  if (read && read.as === stampOf(await getPhone(tx), sync)) return read.ids;
  return new Set(/** @type {string[]} */ (await tx.objectStore('records').getAllKeys()));
}

/** What was recovered, and has come back from whoever wrote it, is no longer a question. @param {Tx} tx @param {State[]} states */
async function forgetComeBack(tx, states) {
  let cursor = await tx.objectStore('recovered').openCursor();
  if (!cursor) return;
  const come = new Map(states.map((state) => [state.id, state.facets]));
  while (cursor) {
    const { record, facet, value } = cursor.value;
    if (sameValue(come.get(record)?.[facet]?.value, value)) await cursor.delete();
    cursor = await cursor.continue();
  }
}

/** Look for values that this phone wrote and has not had answered. @param {Tx} tx @param {LocalRecord} record @param {State} state @param {string[]} ids */
async function findOwn(tx, record, state, ids) {
  /** @type {Map<string, import('./types.js').Value>} */
  const found = new Map();
  for (const [facet, { op: id }] of Object.entries(state.facets)) {
    if (!ids.includes(id)) continue;
    const row = await ownOperation(tx, id);
    // A copied phone goes by the same name: the id may stand for another change here.
    if (row && row.op.record === state.id && row.op.facet === facet) found.set(id, saidBy(row.op));
  }
  return mergeState(record, state, (op) => found.get(op)).length === 0;
}

/** @param {SyncState} sync @param {Page} page @param {boolean} missing @param {boolean} recount @returns {Partial<SyncState>} */
function pageNoted(sync, page, missing, recount) {
  const first = sync.cursor === 0 && sync.firstHead === 0 ? page.head : sync.firstHead;
  return {
    cursor: page.next,
    firstHead: page.more ? first : 0,
    incarnation: sync.incarnation ?? page.incarnation,
    scope: page.scope,
    recount: sync.recount || recount,
    full: missing ? 'own-value-missing' : sync.full,
    fullCursor: missing ? 0 : sync.fullCursor,
  };
}

/**
 * Put a page of a full pull aside; on the last one, let the gathered state take the place of the copy.
 *
 * @param {SiteStorage} storage
 * @param {Page} page
 */
export async function pulledAnew(storage, page) {
  await storage.run(
    ['staging', 'meta'],
    'readwrite',
    async (tx) => {
      const sync = await getSync(tx);
      const staging = plainStore(tx, 'staging');
      if (sync.fullCursor === 0) staging.clear();
      for (const state of page.records) staging.put(state);
      const firstHead = sync.fullCursor === 0 ? page.head : sync.firstHead;
      await changeSync(tx, {
        fullCursor: page.next,
        firstHead,
        scope: page.scope,
        incarnation: page.incarnation,
      });
    },
    'relaxed',
  );
  if (!page.more) await replaceAll(storage, page);
}

/** @param {SiteStorage} storage @param {Page} page */
function replaceAll(storage, page) {
  return storage.run(REPLACING, 'readwrite', async (tx) => {
    const sync = await getSync(tx);
    const { device } = await getPhone(tx);
    const states = new Map(
      (await tx.objectStore('staging').getAll()).map((/** @type {State} */ state) => [state.id, state]),
    );
    const before = new Map(
      (await tx.objectStore('records').getAll()).map((/** @type {LocalRecord} */ r) => [r.id, r]),
    );
    if (sync.full === 'incarnation-changed') await keepOnlyHere(tx, before, states, device);
    const records = plainStore(tx, 'records');
    const sums = noSums();
    for (const id of new Set([...states.keys(), ...before.keys()])) {
      const record = replaceBase(before.get(id), states.get(id), !MAY_BE_GONE.has(sync.full ?? ''));
      if (!record || isNothing(record)) records.delete(id);
      else {
        reindex(record, storage.pointers);
        records.put(record);
        countRecord(sums, record);
      }
    }
    putSums(tx, sums);
    plainStore(tx, 'staging').clear();
    const fullPulls = (sync.fullPulls ?? 0) + 1;
    await changeSync(tx, {
      cursor: page.next,
      firstHead: 0,
      full: null,
      fullCursor: 0,
      recount: true,
      fullPulls,
    });
  });
}

/** @param {Tx} tx @param {Map<string, LocalRecord>} before @param {Map<string, State>} states @param {string} device */
async function keepOnlyHere(tx, before, states, device) {
  for (const record of before.values()) {
    for (const row of onlyHere(record, states.get(record.id), device))
      await tx.objectStore('recovered').add(row);
  }
}

/** Why everything has to be pulled again. @param {SiteStorage} storage @param {string} why */
export const needAll = (storage, why) =>
  storage.run(['meta'], 'readwrite', (tx) => changeSync(tx, { full: why, fullCursor: 0, firstHead: 0 }));

/** Count all rooms' rows anew if some could not be kept up. @param {SiteStorage} storage */
export async function recountIfBehind(storage) {
  const sync = await storage.run(['meta'], 'readonly', getSync);
  const behind = sync.recount || storage.rowsBehind;
  if (!behind || (sync.firstHead > 0 && restsBetween(storage))) return;
  const began = performance.now();
  await storage.run(
    ['records', 'photos', 'summaries', 'meta'],
    'readwrite',
    async (tx) => {
      const photos = await tx.objectStore('photos').getAll();
      const unsent = new Map(photos.filter((p) => !p.received).map((p) => [p.record, 1]));
      noteRecords(tx, []);
      const rows = countAll(await tx.objectStore('records').getAll(), unsent);
      const store = plainStore(tx, 'summaries');
      store.clear();
      for (const row of rows) store.put(row);
      const phone = await getPhone(tx);
      putPhone(tx, { ...phone, uncounted: 0, recounts: (phone.recounts ?? 0) + 1 });
      await changeSync(tx, { recount: false });
    },
    'relaxed',
  );
  storage.rowsBehind = false;
  counted.set(storage, { at: performance.now(), took: performance.now() - began });
}

/** While the first sync goes on, counting takes at most a tenth of the time: after each page anew it would take most of it. */
const RESTS = 9;
/** When all was counted last, and how long that took [ms]. @type {WeakMap<SiteStorage, {at: number, took: number}>} */
const counted = new WeakMap();

/** @param {SiteStorage} storage */
function restsBetween(storage) {
  const last = counted.get(storage);
  return last !== undefined && performance.now() - last.at < RESTS * last.took;
}
