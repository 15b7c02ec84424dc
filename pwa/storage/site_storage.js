// Everything one person has of one site on this phone, by verbs. The only place that knows there is an IndexedDB.

import * as answers from './answers.js';
import { Connection, isNoRoom, plainStore, row, waitsForRoom } from './connection.js';
import { countIn } from './counting.js';
import { Edit } from './edit.js';
import { changeSync, getPhone, getSync, INDEXED, newPhone, newSync, PHONE, putPhone, SYNC } from './meta.js';
import * as outbox from './outbox.js';
import * as photoQueue from './photo_queue.js';
import * as pulls from './pulls.js';
import { putAway } from './put_away.js';
import { countConflicts, IDENTITY, LIFE, reindex, shown, typeRef, viewOf } from './records.js';
import { change, takeBack } from './saving.js';
import { databaseName, STORES, upgrade, VERSION } from './schema.js';
import { noSums, putSums, readSums, recountSums } from './sums.js';
import { noteRecords, noteRows, writingOf } from './touched.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').Draft} Draft */
/** @typedef {import('./types.js').RecordView} RecordView */
/** @typedef {import('./records.js').Pointers} Pointers */

const SAVING = ['records', 'outbox', 'meta'];
const COUNTING = ['records', 'summaries', 'meta'];
const SAVING_A_PHOTO = [...SAVING, 'photos', 'photo_bytes'];
const COUNTED = ['outbox', 'photos', 'refused', 'recovered', 'records', 'meta'];
const UNDO_DEPTH = 10;
const AFTER_ALL_TEXT = '\uffff';

/**
 * @typedef {object} Opening
 * @property {string} site
 * @property {string} person
 * @property {Pointers} pointers
 * @property {number} spec number of the spec that operations are written by
 * @property {() => string} [now] ISO time
 * @property {() => void} [onOutdated]
 * @property {string} [database] its name, where it is not the usual one
 *
 * What is asked of the records: one by its id; live ones below a record, of a type, that refer to a record, found by a key.
 * @typedef {{of: 'id' | 'below' | 'type' | 'refs' | 'lookup', id?: string, type?: string}} Question `id`: the record it is asked about; the key of a lookup
 *
 * @typedef {{changes: import('./types.js').Change[], recounts: number}} Uncounted A save, and how often all was counted before it.
 */

/** The phone's row was written by another tab, or by a sync, since this page wrote it. */
class Stale extends Error {}

export class SiteStorage {
  /** @param {Opening} opening */
  constructor({ site, person, pointers, spec, now = () => new Date().toISOString(), onOutdated, database }) {
    this.site = site;
    this.person = person;
    this.pointers = pointers;
    this.spec = spec;
    this.now = now;
    /** Anchor -> room, remembered between saves, until all is counted anew. @type {{rooms: Map<string, string>, recounts: number}} */
    this.ways = { rooms: new Map(), recounts: 0 };
    /** Saves of this page that the rooms' rows do not have yet. @type {Uncounted[]} */
    this.uncounted = [];
    /** The phone's row as this page last wrote it. @type {import('./types.js').Phone | null} */
    this.phoneBefore = null;
    /** Whether all was brought up since it was opened. */
    this.isUp = false;
    /** Whether the rooms' rows count photos that a full phone let go: it could not note so. */
    this.rowsBehind = false;
    /** Told what a save adds to what waits, once it is on the disk and before it resolves. @type {(added: import('./types.js').Added) => void} */
    this.onAdded = () => {};
    /** Told what a transaction of this page has written, as soon as it is on the disk. @type {(writing: import('./touched.js').Writing) => void} */
    this.onWritten = () => {};
    this.connection = new Connection(database ?? databaseName(site, person), VERSION, upgrade, {
      onOutdated,
    });
  }

  /** Opens the database of this site and person, and makes it on the first day. @param {Opening} opening */
  static async open(opening) {
    const storage = new SiteStorage(opening);
    await storage.#begin();
    return storage;
  }

  async #begin() {
    await this.run(['meta'], 'readwrite', async (tx) => {
      const meta = tx.objectStore('meta');
      if (!(await meta.get(PHONE))) {
        await meta.put(newPhone(), PHONE);
        putSums(tx, noSums());
      }
      if (!(await meta.get(SYNC))) await meta.put(newSync(), SYNC);
    });
    // A full phone opens all the same: how else would its photos leave?
    await this.bringUp().catch(waitsForRoom);
  }

  /** Bring what is here up to what has happened to it: an app that ended early, a newer one, answers that are noted. */
  async bringUp() {
    if (this.isUp) return;
    await this.run(['meta'], 'readwrite', async (tx) => {
      // The app ended before the rooms' rows had its last saves, or another tab is about to bring them up.
      if ((await getPhone(tx)).uncounted) await changeSync(tx, { recount: true });
    });
    await this.#reindexIfChanged();
    await answers.takeAnswersIn(this);
    this.isUp = true;
  }

  /** A newer spec may point elsewhere: what is indexed follows, operations stay as they are. */
  async #reindexIfChanged() {
    const wanted = JSON.stringify([VERSION, this.pointers]);
    const indexed = await this.run(['meta'], 'readonly', (tx) => tx.objectStore('meta').get(INDEXED));
    if (indexed === wanted) return;
    await this.run(['records', 'meta'], 'readwrite', async (tx) => {
      for (const record of await tx.objectStore('records').getAll()) {
        reindex(record, this.pointers);
        await tx.objectStore('records').put(record);
      }
      await tx.objectStore('meta').put(wanted, INDEXED);
    });
  }

  /**
   * @template T
   * @param {string[]} stores @param {'readonly' | 'readwrite'} mode
   * @param {(tx: Tx) => Promise<T>} work @param {'strict' | 'relaxed'} [durability]
   * @returns {Promise<T>}
   */
  async run(stores, mode, work, durability) {
    if (stores.includes('summaries'))
      await this.countRooms().catch((error) => {
        // What is read is as of the last that could be counted.
        if (mode === 'readwrite' || !isNoRoom(error)) throw error;
      });
    return this.#run(stores, mode, work, durability);
  }

  /**
   * @template T
   * @param {string[]} stores @param {'readonly' | 'readwrite'} mode
   * @param {(tx: Tx) => Promise<T>} work @param {'strict' | 'relaxed'} [durability]
   * @returns {Promise<T>}
   */
  async #run(stores, mode, work, durability) {
    /** @type {import('./touched.js').Writing | null} */
    let written = null;
    const result = await this.connection.run(
      stores,
      mode,
      async (tx) => {
        const made = await work(tx);
        written = writingOf(tx, stores, mode);
        return made;
      },
      durability,
    );
    if (written) this.onWritten(written);
    return result;
  }

  /** Bring the rooms' rows up to what was saved: a save does not wait for them. */
  async countRooms() {
    const saves = this.uncounted.splice(0);
    if (saves.length === 0) return;
    try {
      await this.#run(COUNTING, 'readwrite', (tx) => this.#countIn(tx, saves), 'relaxed');
    } catch (error) {
      this.uncounted.unshift(...saves);
      throw error;
    }
  }

  /** @param {Tx} tx @param {Uncounted[]} saves */
  async #countIn(tx, saves) {
    noteRecords(tx, []);
    noteRows(tx, []);
    const phone = await getPhone(tx);
    // What was saved before all was counted anew is counted.
    const mine = saves.filter(({ recounts }) => recounts === (phone.recounts ?? 0));
    if (mine.length === 0) return;
    const behind = await countIn(
      tx,
      mine.flatMap(({ changes }) => changes),
      this.roomsBy(phone),
    );
    putPhone(tx, { ...phone, uncounted: (phone.uncounted ?? 0) - mine.length });
    if (behind) await changeSync(tx, { recount: true });
  }

  /** Which room an anchor leads to. Whatever moves, in any tab, has all counted anew. @param {import('./types.js').Phone} phone */
  roomsBy({ recounts = 0 }) {
    if (this.ways.recounts !== recounts) this.ways = { rooms: new Map(), recounts };
    return this.ways.rooms;
  }

  async close() {
    // What cannot be counted now is counted anew when it is opened again.
    await this.countRooms().catch(() => {});
    await this.connection.close();
  }

  /** Put away what the server has; what is only here stays. */
  putAway = () => putAway(this);

  /** What was remembered of records that are put away. */
  forgetWays() {
    this.ways = { rooms: new Map(), recounts: 0 };
    this.uncounted = [];
    this.phoneBefore = null;
  }

  /** Erase what this phone has of the site. */
  erase() {
    return this.connection.erase();
  }

  // -- reading

  /** @param {string} id @returns {Promise<RecordView | undefined>} */
  async get(id) {
    const record = await this.run(['records'], 'readonly', (tx) => tx.objectStore('records').get(id));
    return record && viewOf(record);
  }

  /**
   * What hangs below a record, live ones only.
   *
   * @param {string} parent @param {string} [type]
   */
  children(parent, type) {
    return this.#live('parent_type', belowRange(parent, type));
  }

  /**
   * Answers to several questions, read in one transaction.
   *
   * @param {Question[]} questions @returns {Promise<LocalRecord[][]>}
   */
  answersTo(questions) {
    return this.run(['records'], 'readonly', (tx) =>
      Promise.all(questions.map((question) => READ[question.of](tx, question))),
    );
  }

  /** All live records of a type. @param {string} type */
  all(type) {
    return this.#live('type', type);
  }

  /** Every record of the site, removed ones too: what the rules look at. @returns {Promise<RecordView[]>} */
  async everything() {
    return (await this.kept()).map(viewOf);
  }

  /**
   * Records in the order of their ids, some at a time.
   *
   * @param {string} after id; those above it @param {number} most
   * @returns {Promise<RecordView[]>} as many as `most`, unless these are the last; removed ones too
   */
  async slice(after, most) {
    const range = IDBKeyRange.lowerBound(after, true);
    const found = await this.run(['records'], 'readonly', (tx) =>
      tx.objectStore('records').getAll(range, most),
    );
    return found.map(viewOf);
  }

  /** Live records that refer to a record. @param {string} id @param {string} [type] */
  referring(id, type) {
    return this.#live(...referringTo(id, type));
  }

  /**
   * The record of a type that is found by a key (a label by its code).
   *
   * @param {string} type @param {string} key
   * @returns {Promise<RecordView | undefined>}
   */
  async lookup(type, key) {
    return (await this.#live('lookup', [type, key]))[0];
  }

  /** @param {string} index @param {IDBKeyRange | string | string[]} range @returns {Promise<RecordView[]>} */
  async #live(index, range) {
    return liveViews(
      await this.run(['records'], 'readonly', (tx) => tx.objectStore('records').index(index).getAll(range)),
    );
  }

  /** Bring the rooms' rows up to all that is on this phone. */
  async bringRowsUp() {
    await this.countRooms().catch(waitsForRoom);
    await pulls.recountIfBehind(this).catch(waitsForRoom);
  }

  async summaries() {
    await this.bringRowsUp();
    return /** @type {Promise<import('./types.js').Summary[]>} */ (
      this.run(['summaries'], 'readonly', (tx) => tx.objectStore('summaries').getAll())
    );
  }

  // -- saving

  /**
   * Save changes, all or none; resolves when they are on the disk.
   *
   * @param {Draft[]} drafts
   * @param {{row: import('./types.js').PhotoRow, bytes: ArrayBuffer}} [photo] goes with them
   * @returns {Promise<string[]>} ids of the operations written
   */
  save(drafts, photo) {
    return this.#write(drafts, photo);
  }

  /**
   * Remove a record and, before it, all that hangs below it.
   *
   * @param {string} id @param {string[]} [settles]
   */
  async remove(id, settles = []) {
    const record = await this.get(id);
    if (!record) return [];
    const below = await this.#below(id);
    const drafts = [...below.reverse(), record].map(({ id: each, type }) => removal(each, type));
    drafts[drafts.length - 1].settles = settles;
    return this.#write(drafts);
  }

  /** @param {string} id @returns {Promise<RecordView[]>} parents before children */
  async #below(id) {
    const children = await this.children(id);
    const deeper = await Promise.all(children.map((child) => this.#below(child.id)));
    return children.flatMap((child, place) => [child, ...deeper[place]]);
  }

  /** @param {string} id @param {string[]} [settles] */
  async restore(id, settles = []) {
    const record = await this.get(id);
    if (!record) return [];
    return this.#write([
      {
        record: id,
        type: record.type,
        facet: LIFE,
        kind: 'restore',
        seen: record.seen[LIFE] ?? null,
        settles,
      },
    ]);
  }

  /** Take the newest save back, by new operations. @returns {Promise<boolean>} false when there is nothing to take back */
  async undo() {
    const [newest] = await this.undoable();
    if (!newest) return false;
    await this.#write(takeBack(newest), undefined, { popUndo: true });
    return true;
  }

  /** Saves that can be taken back, newest first. @returns {Promise<import('./saving.js').Undone[][]>} */
  async undoable() {
    return (await this.phone()).undo;
  }

  /**
   * @param {Draft[]} drafts
   * @param {{row: import('./types.js').PhotoRow, bytes: ArrayBuffer}} [photo]
   * @param {{popUndo?: boolean}} [how]
   */
  async #write(drafts, photo, { popUndo = false } = {}) {
    const phoneBefore = onlyNew(drafts) ? this.phoneBefore : null;
    const saved = await this.#transact(drafts, photo, popUndo, phoneBefore).catch((error) => {
      if (phoneBefore === null || !(error instanceof Stale || error.name === 'ConstraintError')) throw error;
      return this.#transact(drafts, photo, popUndo, null);
    });
    this.phoneBefore = saved.phone;
    this.uncounted.push({ changes: saved.changes, recounts: saved.phone.recounts ?? 0 });
    this.onAdded(saved.added);
    return saved.ids;
  }

  /**
   * One save. Where all of it is new and the phone's row is as this page wrote it, nothing is read before the first write:
   * that it is so is found out meanwhile, and if it is not, nothing of it stays.
   *
   * @param {Draft[]} drafts
   * @param {{row: import('./types.js').PhotoRow, bytes: ArrayBuffer} | undefined} photo
   * @param {boolean} popUndo
   * @param {import('./types.js').Phone | null} phoneBefore
   */
  #transact(drafts, photo, popUndo, phoneBefore) {
    return this.run(photo ? SAVING_A_PHOTO : SAVING, 'readwrite', async (tx) => {
      const edit = new Edit(tx, this.pointers, new Map(photo ? [[photo.row.record, 1]] : []));
      const reading = getPhone(tx);
      if (phoneBefore)
        for (const { record, type } of drafts) edit.records.has(record) || edit.make(record, type);
      else await edit.load(drafts.map((draft) => draft.record));
      const phone = { ...(phoneBefore ?? (await reading)) };
      const newestBefore = phone.counter;
      const photoIsNew = photo !== undefined && !(await photoWaits(tx, photo.row.sha256));
      /** @type {import('./saving.js').Save} */
      const save = {
        phone,
        newest: phone.newest,
        by: this.person,
        at: this.now(),
        spec: this.spec,
        put: [],
        dropped: [],
        undone: [],
      };
      for (const draft of drafts) change(save, await edit.getOrMake(draft.record, draft.type), draft);
      phone.newest = save.newest;
      phone.undo = nextUndo(phone.undo, save.undone, popUndo);
      phone.uncounted = (phone.uncounted ?? 0) + 1;
      if (photo) putPhoto(tx, photo);
      putOperations(tx, save);
      const changes = edit.finish(phoneBefore ? 'add' : 'put');
      const written = putPhone(tx, phone);
      if (phoneBefore && !sameRow(phoneBefore, await reading)) throw new Stale();
      const gone = save.dropped.filter((n) => n <= newestBefore).length;
      const added = {
        version: written.version,
        operations: save.put.length - gone,
        photos: photoIsNew ? 1 : 0,
        refused: 0,
      };
      return { ids: save.put.map((waiting) => waiting.id), changes, phone: written, added };
    });
  }

  // -- sync: what is on its way

  phone() {
    return this.run(['meta'], 'readonly', getPhone);
  }

  syncState() {
    return this.run(['meta'], 'readonly', getSync);
  }

  /** @param {Partial<import('./types.js').SyncState>} change */
  noteSync(change) {
    return this.run(['meta'], 'readwrite', async (tx) => {
      await tx.objectStore('meta').put({ ...(await getSync(tx)), ...change }, SYNC);
    });
  }

  /** How much is only on this phone, and how much is in conflict. @returns {Promise<import('./types.js').Counts>} */
  counts() {
    return this.run(COUNTED, 'readonly', async (tx) => {
      const [{ version = 0 }, operations, photos, refused, recovered, conflicts] = await Promise.all([
        getPhone(tx),
        answers.countWaiting(tx),
        tx.objectStore('photos').getAll(),
        tx.objectStore('refused').getAll(),
        tx.objectStore('recovered').count(),
        countConflicts(tx),
      ]);
      const unsent = photos.filter((/** @type {import('./types.js').PhotoRow} */ row) => !row.received);
      const stopped = unsent.filter((/** @type {import('./types.js').PhotoRow} */ row) => row.refused).length;
      const undone = refused.filter(
        (/** @type {import('./types.js').Refused} */ { code }) => !answers.HELD.has(code),
      );
      const stuck = undone.length + stopped;
      return { operations, photos: unsent.length, refused: stuck, recovered, conflicts, version };
    });
  }

  /** What this copy is checked by, as it was kept; null where it has to be counted first. */
  sums() {
    return this.run(['meta'], 'readonly', readSums);
  }

  /** The same, counted anew from all records, and kept. */
  recountSums() {
    return this.run(['records', 'meta'], 'readwrite', recountSums, 'relaxed');
  }

  /** Every record as it is kept. @returns {Promise<LocalRecord[]>} */
  kept() {
    return this.run(['records'], 'readonly', (tx) => tx.objectStore('records').getAll());
  }

  /** What only the old copy knew when the server had been set back. @returns {Promise<import('./types.js').Recovered[]>} */
  recovered() {
    return this.run(['recovered'], 'readonly', async (tx) => {
      const store = tx.objectStore('recovered');
      const [rows, keys] = await Promise.all([store.getAll(), store.getAllKeys()]);
      return rows.map((row, place) => ({ ...row, key: keys[place] }));
    });
  }

  /** A person has dealt with these. @param {number[]} keys */
  forgetRecovered(keys) {
    return this.run(['recovered'], 'readwrite', async (tx) => {
      for (const key of keys) await tx.objectStore('recovered').delete(key);
    });
  }

  /** Whether this database is still whole: every store is there. */
  async isWhole() {
    const db = await this.connection.open();
    return STORES.every((name) => db.objectStoreNames.contains(name));
  }

  /** @param {number} [most] @param {number} [after] */
  waiting = (most, after) => outbox.waiting(this, most, after);
  /** @param {number} to */
  markSent = (to) => outbox.markSent(this, to);
  /**
   * @param {import('./types.js').Waiting[]} batch @param {import('./types.js').Answer[]} told
   * @param {{backed_up?: number, scope?: string, incarnation?: string}} [about]
   */
  answered = (batch, told, about) => answers.answered(this, batch, told, about);
  takeAnswersIn = () => answers.takeAnswersIn(this);
  /** @param {import('./types.js').Answer[]} told */
  takeSettledIn = (told) => answers.takeSettledIn(this, told);
  refused = () => outbox.refused(this);
  /** @param {string} id @param {import('./types.js').Value | null} corrected */
  retryRefused = (id, corrected) => outbox.retryRefused(this, id, corrected);
  retryArrived = () => outbox.retryArrived(this);
  /** @param {string} id */
  dropRefused = (id) => outbox.dropRefused(this, id);
  /** @param {Map<string, string>} hashes */
  takeNewName = (hashes) => outbox.takeNewName(this, hashes);
  /** @param {string} incarnation */
  serverWasSetBack = (incarnation) => outbox.serverWasSetBack(this, incarnation);
  /** @param {import('./types.js').Page} page */
  pulled = (page) => pulls.pulled(this, page);
  /** @param {import('./types.js').Page} page */
  pulledAnew = (page) => pulls.pulledAnew(this, page);
  /** @param {string} why */
  needAll = (why) => pulls.needAll(this, why);
  photosHere = () => photoQueue.photosHere(this);
  /** @param {string} sha256 */
  photoBytes = (sha256) => photoQueue.photoBytes(this, sha256);
  /** @param {string} sha256 */
  photoReceived = (sha256) => photoQueue.photoReceived(this, sha256);
  /** @param {string} sha256 @param {{code: string, facts: Facts}} reason */
  photoRefused = (sha256, reason) => photoQueue.photoRefused(this, sha256, reason);
  dropArrivedPhotos = () => photoQueue.dropArrived(this);
  /** @param {string} [sha256] */
  letReceivedGo = (sha256) => photoQueue.letReceivedGo(this, sha256);
  plansLacking = () => photoQueue.plansLacking(this);
  /** @param {string} sha256 @param {ArrayBuffer} bytes */
  keepPlan = (sha256, bytes) => photoQueue.keepPlan(this, sha256, bytes);
  dropOldPlans = () => photoQueue.dropOldPlans(this);
}

/** @param {LocalRecord[]} records */
const live = (records) => records.filter((record) => !record.removed);
/** @param {LocalRecord[]} records @returns {RecordView[]} */
const liveViews = (records) => live(records).map(viewOf);

/** @type {Record<Question['of'], (tx: Tx, question: Question) => Promise<LocalRecord[]>>} */
const READ = {
  id: async (tx, { id = '' }) => [await tx.objectStore('records').get(id)].filter(Boolean),
  below: async (tx, { id = '', type }) => live(await indexed(tx, 'parent_type', belowRange(id, type))),
  type: async (tx, { type = '' }) => live(await indexed(tx, 'type', type)),
  refs: async (tx, { id = '', type }) => live(await indexed(tx, ...referringTo(id, type))),
  lookup: async (tx, { id = '', type = '' }) => live(await indexed(tx, 'lookup', [type, id])),
};

/** @param {Tx} tx @param {string} index @param {IDBKeyRange | string | string[]} range @returns {Promise<LocalRecord[]>} */
const indexed = (tx, index, range) => tx.objectStore('records').index(index).getAll(range);

/** Which index tells what refers to a record, and where in it. A kind has thousands of groups and two photos. @param {string} id @param {string} [type] @returns {[string, string]} */
const referringTo = (id, type) => (type ? ['type_refs', typeRef(type, id)] : ['refs', id]);

/** @param {string} parent @param {string} [type] */
const belowRange = (parent, type) =>
  type ? IDBKeyRange.only([parent, type]) : IDBKeyRange.bound([parent], [parent, AFTER_ALL_TEXT]);

/** @param {string} record @param {string} type @returns {Draft} */
const removal = (record, type) => ({ record, type, facet: LIFE, kind: 'remove' });

/** @param {Tx} tx @param {{row: import('./types.js').PhotoRow, bytes: ArrayBuffer}} photo */
function putPhoto(tx, { row, bytes }) {
  plainStore(tx, 'photos').put(row);
  plainStore(tx, 'photo_bytes').put(bytes, row.sha256);
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

/** An older app does not write the version, but counts. @param {import('./types.js').Phone} a @param {import('./types.js').Phone} b */
const sameRow = (a, b) =>
  a.version === b.version && a.counter === b.counter && a.sentTo === b.sentTo && a.epoch === b.epoch;

/** @param {import('./saving.js').Undone[][]} undo @param {import('./saving.js').Undone[]} undone @param {boolean} pop */
function nextUndo(undo, undone, pop) {
  if (pop) return undo.slice(1);
  return undone.length > 0 ? [undone, ...undo].slice(0, UNDO_DEPTH) : undo;
}

export { shown };
