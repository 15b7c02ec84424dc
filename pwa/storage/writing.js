// Saves: each is one transaction, and the newest can be taken back by a further one.

import { plainStore, row } from './connection.js';
import { Edit } from './edit.js';
import { getPhone, putPhone } from './meta.js';
import { IDENTITY, LIFE } from './records.js';
import { change, takeBack } from './saving.js';

/** @typedef {import('./types.js').Draft} Draft */
/** @typedef {import('./types.js').Phone} Phone */
/** @typedef {import('./types.js').RecordView} RecordView */
/** @typedef {import('./saving.js').Undone} Undone */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */
/** @typedef {{row: import('./types.js').PhotoRow, bytes: ArrayBuffer}} PhotoOfSave */

const SAVING = ['records', 'outbox', 'meta'];
const SAVING_A_PHOTO = [...SAVING, 'photos', 'photo_bytes'];
const UNDO_DEPTH = 10;

/** The phone's row was written by another tab, or by a sync, since this page wrote it. */
class Stale extends Error {}

/**
 * Save changes, all or none; resolves when they are on the disk.
 *
 * @param {SiteStorage} storage
 * @param {Draft[]} drafts
 * @param {PhotoOfSave} [photo] goes with them
 * @param {{popUndo?: boolean}} [how]
 * @returns {Promise<string[]>} ids of the operations written
 */
export async function write(storage, drafts, photo, { popUndo = false } = {}) {
  const phoneBefore = onlyNew(drafts) ? storage.phoneBefore : null;
  const saved = await transact(storage, drafts, photo, popUndo, phoneBefore).catch((error) => {
    if (phoneBefore === null || !(error instanceof Stale || error.name === 'ConstraintError')) throw error;
    return transact(storage, drafts, photo, popUndo, null);
  });
  storage.phoneBefore = saved.phone;
  storage.rooms.note(saved.changes, saved.phone);
  storage.onAdded(saved.added);
  return saved.ids;
}

/**
 * Remove a record and, before it, all that hangs below it; what tells of work done stays, and is named as seen.
 *
 * @param {SiteStorage} storage @param {string} id @param {string[]} settles
 */
export async function remove(storage, id, settles) {
  const record = await storage.get(id);
  if (!record) return [];
  const drafts = await removals(storage, record);
  drafts[drafts.length - 1].settles = settles;
  return write(storage, drafts);
}

/** @param {SiteStorage} storage @param {RecordView} record @returns {Promise<Draft[]>} children before parents */
async function removals(storage, { id, type }) {
  const children = await storage.children(id);
  const going = children.filter((child) => !storage.staying.includes(child.type));
  const below = await Promise.all(going.map((child) => removals(storage, child)));
  const staying = stayingAmong(storage, children);
  return [...below.flat(), { record: id, type, facet: LIFE, kind: 'remove', staying }];
}

/** @param {SiteStorage} storage @param {RecordView[]} records @returns {string[]} ids of those that stay where what they stand under is removed */
const stayingAmong = (storage, records) =>
  records.filter(({ type }) => storage.staying.includes(type)).map(({ id }) => id);

/** A change that takes another back; a removal has seen what stays below it. @param {SiteStorage} storage @param {Draft} draft @returns {Promise<Draft>} */
async function asSeenNow(storage, draft) {
  if (draft.kind !== 'remove') return draft;
  return { ...draft, staying: stayingAmong(storage, await storage.children(draft.record)) };
}

/** @param {SiteStorage} storage @param {string} id @param {string[]} settles */
export async function restore(storage, id, settles) {
  const record = await storage.get(id);
  if (!record) return [];
  const { type, seen } = record;
  return write(storage, [
    { record: id, type, facet: LIFE, kind: 'restore', seen: seen[LIFE] ?? null, settles },
  ]);
}

/** Take the newest save back, by new operations. @param {SiteStorage} storage @returns {Promise<boolean>} false when there is nothing to take back */
export async function undo(storage) {
  const [newest] = await storage.undoable();
  if (!newest) return false;
  const drafts = await Promise.all(takeBack(newest).map((draft) => asSeenNow(storage, draft)));
  await write(storage, drafts, undefined, { popUndo: true });
  return true;
}

/**
 * One save. Where all of it is new and the phone's row is as this page wrote it, nothing is read before the first write:
 * that it is so is found out meanwhile, and if it is not, nothing of it stays.
 *
 * @param {SiteStorage} storage
 * @param {Draft[]} drafts
 * @param {PhotoOfSave | undefined} photo
 * @param {boolean} popUndo
 * @param {Phone | null} phoneBefore
 */
function transact(storage, drafts, photo, popUndo, phoneBefore) {
  return storage.run(photo ? SAVING_A_PHOTO : SAVING, 'readwrite', async (tx) => {
    const edit = new Edit(tx, storage.pointers, new Map(photo ? [[photo.row.record, 1]] : []));
    const reading = getPhone(tx);
    if (phoneBefore)
      for (const { record, type } of drafts) edit.records.has(record) || edit.make(record, type);
    else await edit.load(drafts.map((draft) => draft.record));
    const phone = { ...(phoneBefore ?? (await reading)) };
    const newestBefore = phone.counter;
    const photoIsNew = photo !== undefined && !(await photoWaits(tx, photo.row.sha256));
    const save = saveOf(storage, phone);
    for (const draft of drafts) change(save, await edit.getOrMake(draft.record, draft.type), draft);
    phone.newest = save.newest;
    phone.undo = nextUndo(phone.undo, save.undone, popUndo);
    phone.uncounted = (phone.uncounted ?? 0) + 1;
    if (photo) putPhoto(tx, photo);
    putOperations(tx, save);
    const changes = edit.finish(phoneBefore ? 'add' : 'put');
    const written = putPhone(tx, phone);
    if (phoneBefore && !sameRow(phoneBefore, await reading)) throw new Stale();
    const added = addedBy(save, newestBefore, photoIsNew, written.version);
    return { ids: save.put.map((waiting) => waiting.id), changes, phone: written, added };
  });
}

/** @param {SiteStorage} storage @param {Phone} phone @returns {import('./saving.js').Save} */
const saveOf = (storage, phone) => ({
  phone,
  newest: phone.newest,
  by: storage.person,
  at: storage.now(),
  spec: storage.spec,
  put: [],
  dropped: [],
  undone: [],
});

/**
 * What a save adds to what waits.
 *
 * @param {import('./saving.js').Save} save @param {number} newestBefore counter @param {boolean} photoIsNew @param {number} version of the phone's row
 * @returns {import('./types.js').Added}
 */
function addedBy({ put, dropped }, newestBefore, photoIsNew, version) {
  const gone = dropped.filter((n) => n <= newestBefore).length;
  return { version, operations: put.length - gone, photos: photoIsNew ? 1 : 0, refused: 0 };
}

/** @param {Tx} tx @param {PhotoOfSave} photo */
function putPhoto(tx, { row: its, bytes }) {
  plainStore(tx, 'photos').put(its);
  plainStore(tx, 'photo_bytes').put(bytes, its.sha256);
}

/** Whether a photo is here already and has not arrived. @param {Tx} tx @param {string} sha256 */
async function photoWaits(tx, sha256) {
  const there = /** @type {import('./types.js').PhotoRow | undefined} */ (await row(tx, 'photos', sha256));
  return there !== undefined && !there.received;
}

/** @param {Tx} tx @param {import('./saving.js').Save} save */
function putOperations(tx, { put, dropped }) {
  const outboxStore = plainStore(tx, 'outbox');
  for (const n of dropped) outboxStore.delete(n);
  for (const waiting of put) outboxStore.put(waiting);
}

/** Whether each record of it is being made: its identity is set first, by a form that showed nothing. @param {Draft[]} drafts */
function onlyNew(drafts) {
  const made = new Set();
  return drafts.every(({ record, facet, seen, kind = 'set' }) => {
    if (facet === IDENTITY && kind === 'set' && !seen) made.add(record);
    return made.has(record);
  });
}

/** An older app does not write the version, but counts. @param {Phone} a @param {Phone} b */
const sameRow = (a, b) =>
  a.version === b.version && a.counter === b.counter && a.sentTo === b.sentTo && a.epoch === b.epoch;

/** @param {Undone[][]} undo @param {Undone[]} undone @param {boolean} pop */
function nextUndo(undo, undone, pop) {
  if (pop) return undo.slice(1);
  return undone.length > 0 ? [undone, ...undo].slice(0, UNDO_DEPTH) : undo;
}
