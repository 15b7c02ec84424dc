// Records being changed in one transaction: read once, changed in memory, written at the end together with their rooms' rows.

import { plainStore } from './connection.js';
import { emptyRecord, isNothing, reindex } from './records.js';
import { adjusted, anchorOf, roomFrom, share } from './summaries.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').Summary} Summary */
/** @typedef {ReturnType<typeof share>} Share */

export class Edit {
  /**
   * @param {any} tx over records, and over summaries unless `count` is false
   * @param {import('./records.js').Pointers} pointers
   * @param {{count?: boolean, photosUnsent?: Map<string, number>}} [how] `count: false` leaves the rows to a later count
   */
  constructor(tx, pointers, { count = true, photosUnsent = new Map() } = {}) {
    this.tx = tx;
    this.pointers = pointers;
    this.count = count;
    this.photosUnsent = photosUnsent;
    /** @type {Map<string, LocalRecord>} */
    this.records = new Map();
    /** @type {Map<string, {anchor: string | null, share: Share} | null>} */
    this.before = new Map();
    /** @type {Map<string, Promise<LocalRecord | undefined>>} */
    this.passed = new Map();
    /** A row could not be kept up, because the way to its room is not on this phone yet. */
    this.behind = false;
  }

  /** @param {string} id @returns {Promise<LocalRecord | undefined>} */
  async get(id) {
    const held = this.records.get(id);
    if (held) return held;
    const found = /** @type {LocalRecord | undefined} */ (await this.tx.objectStore('records').get(id));
    if (found) this.#hold(found, { anchor: placeOf(found), share: this.#share(found) });
    return found;
  }

  /** @param {string} id @param {string} type @returns {Promise<LocalRecord>} */
  async getOrMake(id, type) {
    return (await this.get(id)) ?? this.make(id, type);
  }

  /** A record of which it is known that it is not there. @param {string} id @param {string} type */
  make(id, type) {
    return this.#hold(emptyRecord(id, type), null);
  }

  /** @param {LocalRecord} record @param {{anchor: string | null, share: Share} | null} before */
  #hold(record, before) {
    this.records.set(record.id, record);
    this.before.set(record.id, before);
    return record;
  }

  /** @param {LocalRecord} record */
  #share(record) {
    return share(record, this.photosUnsent.get(record.id));
  }

  /** Write everything that was held. */
  async finish() {
    const store = plainStore(this.tx, 'records');
    for (const record of this.records.values()) {
      reindex(record, this.pointers);
      if (isNothing(record)) store.delete(record.id);
      else store.put(record);
    }
    if (this.count) await this.#finishRows();
  }

  async #finishRows() {
    /** @type {Map<string, {room: LocalRecord, change: Share}>} */
    const changes = new Map();
    for (const record of this.records.values()) await this.#change(record, changes);
    const store = this.tx.objectStore('summaries');
    for (const { room, change } of changes.values()) {
      const held = await store.get(room.id);
      if (!held && this.before.get(room.id) !== null) this.behind = true;
      const row = adjusted(held, room, change);
      if (row) store.put(row).catch(() => {});
      else store.delete(room.id).catch(() => {});
    }
  }

  /** @param {LocalRecord} record @param {Map<string, {room: LocalRecord, change: Share}>} changes */
  async #change(record, changes) {
    const before = this.before.get(record.id);
    const after = isNothing(record)
      ? null
      : { anchor: placeOf(record), share: share(record, this.photosUnsent.get(record.id)) };
    // What hangs below a record that moved moves with it: all rows are counted anew.
    if (before && after && before.anchor !== after.anchor) this.behind = true;
    if (before) await this.#add(before, -1, changes);
    if (after) await this.#add(after, 1, changes);
  }

  /**
   * @param {{anchor: string | null, share: Share}} part @param {1 | -1} sign
   * @param {Map<string, {room: LocalRecord, change: Share}>} changes
   */
  async #add(part, sign, changes) {
    const room = await roomFrom(part.anchor, (id) => this.#pass(id));
    if (!room) {
      this.behind ||= part.anchor !== null;
      return;
    }
    const { change } = changes.get(room.id) ?? set(changes, room.id, { room, change: zero() });
    for (const name of /** @type {Array<keyof Share>} */ (Object.keys(change)))
      change[name] += sign * part.share[name];
  }

  /** A record on the way to a room, not to be written. @param {string} id */
  #pass(id) {
    const held = this.records.get(id);
    if (held) return Promise.resolve(held);
    return this.passed.get(id) ?? set(this.passed, id, this.tx.objectStore('records').get(id));
  }
}

/** A room's place is itself. @param {LocalRecord} record */
const placeOf = (record) => (record.type === 'room' ? record.id : anchorOf(record));

/** @returns {Share} */
const zero = () => ({ groups: 0, fixtures: 0, unsent: 0, conflicts: 0, photos_unsent: 0 });

/** @template K, V @param {Map<K, V>} map @param {K} key @param {V} value @returns {V} */
function set(map, key, value) {
  map.set(key, value);
  return value;
}
