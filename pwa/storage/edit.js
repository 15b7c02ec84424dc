// Records being changed in one transaction: read once, changed in memory, written at the end.

import { IN_ONE_GO, plainStore, row, turnEnds } from './connection.js';
import { emptyRecord, isNothing, reindex } from './records.js';
import { lineHash } from './digest.js';
import { anchorOf, share } from './summaries.js';
import { followSums } from './sums.js';
import { noteRecords } from './touched.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').Part} Part */
/** @typedef {import('./types.js').Change} Change */

export class Edit {
  /**
   * @param {Tx} tx over records
   * @param {import('./records.js').Pointers} pointers
   * @param {Map<string, number>} [photosUnsent] photos of a record that have not arrived
   */
  constructor(tx, pointers, photosUnsent = new Map()) {
    this.tx = tx;
    this.pointers = pointers;
    this.photosUnsent = photosUnsent;
    /** @type {Map<string, LocalRecord>} */
    this.records = new Map();
    /** @type {Map<string, Part | null>} */
    this.before = new Map();
    /** Where each was found before it was changed. @type {Map<string, import('./touched.js').FoundBy>} */
    this.foundBy = new Map();
    /** What each record added to the copy's sum that may be changed in what the server has of it. @type {Map<string, ArrayLike<number> | null>} */
    this.lines = new Map();
  }

  /** What the server has of a record is about to be changed here: the copy's sum is to follow. @param {LocalRecord} record */
  willChange(record) {
    if (!this.lines.has(record.id)) this.lines.set(record.id, lineHash(record));
  }

  /** Bring the copy's sum up to what was changed. */
  followSums() {
    return followSums(this.tx, this.lines, this.records);
  }

  /** @param {string} id @returns {Promise<LocalRecord | undefined>} */
  async get(id) {
    const stored = this.records.get(id);
    if (stored) return stored;
    const found = /** @type {LocalRecord | undefined} */ (await row(this.tx, 'records', id));
    if (!found) return undefined;
    const { type, parent, refs, lookup } = found;
    this.foundBy.set(id, { type, parent, refs, lookup });
    return this.#hold(found, this.#part(found));
  }

  /** Let a record that was only read go unwritten. @param {string} id */
  leave(id) {
    this.records.delete(id);
    this.before.delete(id);
    this.lines.delete(id);
  }

  /** Read several at once. @param {string[]} ids */
  load(ids) {
    return Promise.all([...new Set(ids)].map((id) => this.get(id)));
  }

  /** @param {string} id @param {string} type @returns {Promise<LocalRecord>} */
  async getOrMake(id, type) {
    return (await this.get(id)) ?? this.make(id, type);
  }

  /** A record of which it is known that it is not there. @param {string} id @param {string} type */
  make(id, type) {
    return this.#hold(emptyRecord(id, type), null);
  }

  /** @param {LocalRecord} record @param {Part | null} before */
  #hold(record, before) {
    this.records.set(record.id, record);
    this.before.set(record.id, before);
    return record;
  }

  /** What it adds to which room. @param {LocalRecord} record @returns {Part} */
  #part(record) {
    // A room's place is itself.
    const anchor = record.type === 'room' ? record.id : anchorOf(record);
    return { anchor, share: share(record, this.photosUnsent.get(record.id)) };
  }

  /**
   * Write everything that was held.
   *
   * @param {'put' | 'add'} [how] `add` fails where a record that was made is there already
   * @returns {Change[]} what that means for the rooms' rows
   */
  finish(how = 'put') {
    this.#note();
    return this.#write([...this.records.values()], how);
  }

  /** The same of many: after some of them the page may answer a tap, or draw, before it goes on. @returns {Promise<Change[]>} */
  async finishMany() {
    this.#note();
    const held = [...this.records.values()];
    const changes = [];
    for (let done = 0; done < held.length; done += IN_ONE_GO) {
      changes.push(...this.#write(held.slice(done, done + IN_ONE_GO), 'put'));
      if (done + IN_ONE_GO < held.length) await turnEnds(this.tx, 'records');
    }
    return changes;
  }

  /** What is held is what this transaction writes of the records. */
  #note() {
    noteRecords(
      this.tx,
      [...this.records.values()].map((record) => ({
        id: record.id,
        before: this.foundBy.get(record.id) ?? null,
        after: isNothing(record) ? null : record,
      })),
    );
  }

  /** @param {LocalRecord[]} records @param {'put' | 'add'} how @returns {Change[]} */
  #write(records, how) {
    const store = plainStore(this.tx, 'records');
    return records.map((record) => {
      const before = this.before.get(record.id) ?? null;
      reindex(record, this.pointers);
      if (isNothing(record)) store.delete(record.id);
      else if (before) store.put(record);
      else store[how](record);
      return { id: record.id, before, after: isNothing(record) ? null : this.#part(record) };
    });
  }
}
