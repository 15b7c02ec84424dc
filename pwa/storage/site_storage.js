// Everything one person has of one site on this phone, by verbs. The only place that knows there is an IndexedDB.

import * as answers from './answers.js';
import { Connection, isNoRoom, waitsForRoom } from './connection.js';
import { changeSync, getPhone, getSync, INDEXED, newPhone, newSync, PHONE, SYNC } from './meta.js';
import * as onlyHere from './only_here.js';
import * as outbox from './outbox.js';
import * as photoQueue from './photo_queue.js';
import * as pulls from './pulls.js';
import { putAway } from './put_away.js';
import * as reading from './reading.js';
import { reindex, shown, viewOf } from './records.js';
import { RoomRows } from './room_rows.js';
import { databaseName, STORES, upgrade, VERSION } from './schema.js';
import { noSums, putSums, readSums, recountSums } from './sums.js';
import { writingOf } from './touched.js';
import * as writing from './writing.js';

/** @typedef {import('./types.js').Draft} Draft */
/** @typedef {import('./types.js').RecordView} RecordView */
/** @typedef {import('./records.js').Pointers} Pointers */
/** @typedef {import('./reading.js').Question} Question */

/**
 * @typedef {object} Opening
 * @property {string} site
 * @property {string} person
 * @property {Pointers} pointers
 * @property {number} spec number of the spec that operations are written by
 * @property {string[]} [staying] types of record that stay where what they stand under is removed: they tell of work
 * @property {() => string} [now] ISO time
 * @property {() => void} [onOutdated]
 * @property {string} [database] its name, where it is not the usual one
 */

export class SiteStorage {
  /** @param {Opening} opening */
  constructor({
    site,
    person,
    pointers,
    spec,
    staying = [],
    now = () => new Date().toISOString(),
    onOutdated,
    database,
  }) {
    this.site = site;
    this.staying = staying;
    this.person = person;
    this.pointers = pointers;
    this.spec = spec;
    this.now = now;
    this.rooms = new RoomRows((...how) => this.#run(...how));
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
      await this.rooms.bringUp().catch((error) => {
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

  async close() {
    // What cannot be counted now is counted anew when it is opened again.
    await this.rooms.bringUp().catch(() => {});
    await this.connection.close();
  }

  /** Put away what the server has; what is only here stays. */
  putAway = () => putAway(this);

  /** What was remembered of records that are put away. */
  forgetWays() {
    this.rooms.forget();
    this.phoneBefore = null;
  }

  /** Erase what this phone has of the site. */
  erase() {
    return this.connection.erase();
  }

  // -- reading

  /** @param {string} id @returns {Promise<RecordView | undefined>} */
  get = (id) => reading.get(this, id);

  /** What hangs below a record, live ones only. @param {string} parent @param {string} [type] */
  children = (parent, type) => reading.viewsOf(this, { of: 'below', id: parent, type });

  /** Answers to several questions, read in one transaction. @param {Question[]} questions */
  answersTo = (questions) => reading.answersTo(this, questions);

  /** All live records of a type. @param {string} type */
  all = (type) => reading.viewsOf(this, { of: 'type', type });

  /** Live records that refer to a record. @param {string} id @param {string} [type] */
  referring = (id, type) => reading.viewsOf(this, { of: 'refs', id, type });

  /**
   * The record of a type that is found by a key (a label by its code).
   *
   * @param {string} type @param {string} key
   * @returns {Promise<RecordView | undefined>}
   */
  lookup = async (type, key) => (await reading.viewsOf(this, { of: 'lookup', id: key, type }))[0];

  /** Every record as it is kept. */
  kept = () => reading.kept(this);

  /** Every record of the site, removed ones too: what the rules look at. */
  everything = async () => (await this.kept()).map(viewOf);

  /** Records in the order of their ids above one, some at a time. @param {string} after @param {number} most */
  slice = (after, most) => reading.slice(this, after, most);

  /** Bring the rooms' rows up to all that is on this phone. */
  async bringRowsUp() {
    await this.rooms.bringUp().catch(waitsForRoom);
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
   * @param {import('./writing.js').PhotoOfSave} [photo] goes with them
   * @returns {Promise<string[]>} ids of the operations written
   */
  save = (drafts, photo) => writing.write(this, drafts, photo);

  /** Remove a record and, before it, all that hangs below it; what tells of work done stays. @param {string} id @param {string[]} [settles] */
  remove = (id, settles = []) => writing.remove(this, id, settles);

  /** @param {string} id @param {string[]} [settles] */
  restore = (id, settles = []) => writing.restore(this, id, settles);

  /** Take the newest save back. @returns {Promise<boolean>} false when there is nothing to take back */
  undo = () => writing.undo(this);

  /** Saves that can be taken back, newest first. @returns {Promise<import('./saving.js').Undone[][]>} */
  async undoable() {
    return (await this.phone()).undo;
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

  /** How much is only on this phone, and how much is in conflict. */
  counts = () => onlyHere.counts(this);

  /** What this copy is checked by, as it was kept; null where it has to be counted first. */
  sums() {
    return this.run(['meta'], 'readonly', readSums);
  }

  /** The same, counted anew from all records, and kept. */
  recountSums() {
    return this.run(['records', 'meta'], 'readwrite', recountSums, 'relaxed');
  }

  /** What only the old copy knew when the server had been set back. */
  recovered = () => onlyHere.recovered(this);

  /** A person has dealt with these. @param {number[]} keys */
  forgetRecovered = (keys) => onlyHere.forgetRecovered(this, keys);

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

export { shown };
