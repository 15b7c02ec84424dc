// One wrapper around every transaction: a lost connection is opened again and the work done once more, then it is 'not saved'.

import { deleteDB, openDB, unwrap } from '../vendor/idb.js';

const LOST = new Set(['InvalidStateError', 'UnknownError', 'AbortError', 'TimeoutError', 'NotReadableError']);
const OPEN_WITHIN_MS = 15000;

/**
 * A store without its promises, for many writes in a row: what fails ends the transaction, and that is heard of.
 *
 * @param {Tx | UpgradeTx} tx @param {string} name
 * @returns {IDBObjectStore}
 */
export const plainStore = (tx, name) =>
  /** @type {IDBObjectStore} */ (/** @type {unknown} */ (unwrap(tx.objectStore(name))));

/**
 * One row by its key, asked for without a wrapper: a save waits for each of its reads.
 *
 * @template {keyof import('./types.js').Rows} S
 * @param {Tx} tx @param {S} name @param {string | number} key
 * @returns {Promise<import('./types.js').Rows[S] | undefined>} undefined where there is none
 */
export function row(tx, name, key) {
  const asked = plainStore(tx, name).get(key);
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

/** After so many records the page may answer a tap, or draw, before it goes on with the next of them. */
export const IN_ONE_GO = 50;

/**
 * Ends a turn of long work in a transaction: what is read for nothing keeps it open meanwhile, and what comes of it begins a
 * turn of its own.
 *
 * @param {Tx} tx @param {'records' | 'meta'} name one of its stores
 */
export const turnEnds = (tx, name) => row(tx, name, NO_KEY);
/** Nothing is kept under it. */
const NO_KEY = '';

/** What was not saved, and must not look as if it were. `code` is a sentence of the words files. */
export class NotSaved extends Error {
  /** @param {string} code @param {unknown} cause */
  constructor(code, cause) {
    super(code, { cause });
    this.name = 'NotSaved';
    this.code = code;
    /** @type {Facts} */
    this.facts = { reason: nameOf(cause) };
  }
}

/** @param {unknown} error */
const nameOf = (error) =>
  error && typeof error === 'object' && 'name' in error ? String(error.name) : String(error);

/** Chromium tells of a full disk in the words of an unknown error, and of a data error where a value is large or a photo. */
const NO_ROOM = /NO_SPACE|quota|write blobs/i;

/** @param {unknown} error */
const isFull = (error) => nameOf(error) === 'QuotaExceededError' || NO_ROOM.test(String(error));

/** Whether something was not saved because the phone is full: what only deletes may still go. @param {unknown} error */
export const isNoRoom = (error) => error instanceof NotSaved && error.code === 'storage-full';

/** For what may wait until there is room: nothing but that is let pass. @param {unknown} error */
export function waitsForRoom(error) {
  if (!isNoRoom(error)) throw error;
}

/** A database that is opened when it is needed and opened again when it was lost. */
export class Connection {
  /**
   * @param {string} name
   * @param {number} version
   * @param {(db: Database, from: number, tx: UpgradeTx) => void} upgrade
   * @param {{onOutdated?: () => void}} [hooks] `onOutdated`: another tab holds a newer app; this page must be loaded again
   */
  constructor(name, version, upgrade, hooks = {}) {
    this.name = name;
    this.version = version;
    this.upgrade = upgrade;
    this.hooks = hooks;
    /** @type {Promise<Database> | null} */
    this.opening = null;
  }

  /** @returns {Promise<Database>} */
  open() {
    this.opening ??= this.#open().catch((error) => {
      this.opening = null;
      throw error;
    });
    return this.opening;
  }

  async #open() {
    const opened = this.#openVersion(this.version).catch((error) => {
      // An older app on a newer database: what it knows of is still there.
      if (nameOf(error) === 'VersionError') return this.#openVersion(undefined);
      throw error;
    });
    const db = await within(opened, OPEN_WITHIN_MS);
    db.addEventListener('close', () => this.#forget(db));
    return db;
  }

  /** @param {number | undefined} version */
  #openVersion(version) {
    return openDB(this.name, version, {
      upgrade: (db, from, _to, tx) => this.upgrade(db, from, tx),
      blocking: (_now, _wanted, event) => {
        const db = /** @type {IDBDatabase} */ (event.target);
        db.close();
        this.opening = null;
        this.hooks.onOutdated?.();
      },
      terminated: () => {
        this.opening = null;
      },
    });
  }

  /** @param {unknown} _db */
  #forget(_db) {
    this.opening = null;
  }

  /**
   * Do work in one transaction; resolves when the transaction is complete.
   *
   * @template T
   * @param {string[]} stores
   * @param {'readonly' | 'readwrite'} mode
   * @param {(tx: Tx) => Promise<T>} work may be called twice; awaits nothing but the transaction's own requests
   * @param {'strict' | 'relaxed'} [durability]
   * @returns {Promise<T>}
   * @throws {NotSaved}
   */
  async run(stores, mode, work, durability = 'strict') {
    try {
      return await this.#once(stores, mode, work, durability);
    } catch (error) {
      if (isFull(error)) throw new NotSaved('storage-full', error);
      if (!LOST.has(nameOf(error))) throw error;
    }
    await this.close();
    try {
      return await this.#once(stores, mode, work, durability);
    } catch (error) {
      if (error instanceof NotSaved) throw error;
      throw new NotSaved(isFull(error) ? 'storage-full' : 'storage-lost', error);
    }
  }

  /**
   * @template T
   * @param {string[]} stores @param {'readonly' | 'readwrite'} mode
   * @param {(tx: Tx) => Promise<T>} work @param {'strict' | 'relaxed'} durability
   * @returns {Promise<T>}
   */
  async #once(stores, mode, work, durability) {
    const db = await this.open();
    const tx = /** @type {Tx} */ (db.transaction(stores, mode, { durability }));
    /** @type {unknown} */
    let failed;
    const done = tx.done.catch((/** @type {unknown} */ error) => {
      failed ??= tx.error ?? error ?? new DOMException('', 'AbortError');
    });
    /** @type {T | undefined} */
    let result;
    try {
      result = await work(tx);
      // Nothing more is asked of it: the disk need not wait for the answers to the last writes.
      if (mode === 'readwrite') /** @type {Partial<IDBTransaction>} */ (unwrap(tx)).commit?.();
    } catch (error) {
      failed = error;
      abort(tx);
    }
    await done;
    if (failed) throw failed;
    return /** @type {T} */ (result);
  }

  /** Erase it all from this phone. Resolves when nothing of it is left, or when the other tabs that hold it have gone. */
  async erase() {
    await this.close();
    await deleteDB(this.name);
  }

  async close() {
    const opening = this.opening;
    this.opening = null;
    try {
      (await opening)?.close();
    } catch {
      // It never opened, or is closed already.
    }
  }
}

/** @param {Tx} tx */
function abort(tx) {
  try {
    tx.abort();
  } catch {
    // It has ended already.
  }
}

/**
 * @template T
 * @param {Promise<T>} promise @param {number} ms
 * @returns {Promise<T>}
 */
function within(promise, ms) {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(
      () => reject(new DOMException('The database does not open.', 'TimeoutError')),
      ms,
    );
    promise.then(resolve, reject).finally(() => clearTimeout(timer));
  });
}
