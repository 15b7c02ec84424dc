// Records being changed in one transaction: read once, changed in memory, written at the end together with their rooms' rows.

import { plainStore, row } from './connection.js';
import { emptyRecord, isNothing, reindex } from './records.js';
import { adjusted, anchorOf, roomFrom, share, withChange } from './summaries.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').Summary} Summary */
/** @typedef {ReturnType<typeof share>} Share */

export class Edit {
  /**
   * @param {any} tx over records, and over summaries unless `count` is false
   * @param {import('./records.js').Pointers} pointers
   * @param {{count?: boolean, photosUnsent?: Map<string, number>, rooms?: Map<string, string>}} [how] `count: false`
   *   leaves the rows to a later count; `rooms` remembers which room an anchor led to
   */
  constructor(tx, pointers, { count = true, photosUnsent = new Map(), rooms } = {}) {
    this.tx = tx;
    this.pointers = pointers;
    this.count = count;
    this.photosUnsent = photosUnsent;
    this.rooms = rooms;
    /** @type {Map<string, LocalRecord>} */
    this.records = new Map();
    /** @type {Map<string, {anchor: string | null, share: Share} | null>} */
    this.before = new Map();
    /** @type {Map<string, Promise<LocalRecord | undefined>>} */
    this.passed = new Map();
    /** @type {Map<string, Promise<Summary | undefined>>} */
    this.rows = new Map();
    /** A row could not be kept up, because the way to its room is not on this phone yet. */
    this.behind = false;
  }

  /** @param {string} id @returns {Promise<LocalRecord | undefined>} */
  async get(id) {
    const held = this.records.get(id);
    if (held) return held;
    const found = /** @type {LocalRecord | undefined} */ (await row(this.tx, 'records', id));
    if (found) this.#hold(found, { anchor: placeOf(found), share: this.#share(found) });
    return found;
  }

  /** Let a record that was only read go unwritten. @param {string} id */
  leave(id) {
    this.records.delete(id);
    this.before.delete(id);
  }

  /** Read several at once. @param {string[]} ids */
  load(ids) {
    return Promise.all([...new Set(ids)].map((id) => this.get(id)));
  }

  /** Ask for the row of the room that an anchor led to before, while other things are read. @param {unknown} anchor */
  expect(anchor) {
    const room = typeof anchor === 'string' && this.rooms?.get(anchor);
    if (room) this.#row(room);
  }

  /** @param {string} room @returns {Promise<Summary | undefined>} */
  #row(room) {
    return this.rows.get(room) ?? set(this.rows, room, row(this.tx, 'summaries', room));
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
    /** @type {Map<string, {room: LocalRecord | null, change: Share}>} */
    const changes = new Map();
    for (const record of this.records.values()) await this.#change(record, changes);
    const rows = plainStore(this.tx, 'summaries');
    for (const [id, { room, change }] of changes) {
      const held = await this.#row(id);
      if (!held && this.before.get(id) !== null) this.behind = true;
      const next = room ? adjusted(held, room, change) : held && withChange(held, change);
      if (next) rows.put(next);
      else rows.delete(id);
    }
  }

  /** @param {LocalRecord} record @param {Map<string, {room: LocalRecord | null, change: Share}>} changes */
  async #change(record, changes) {
    const before = this.before.get(record.id);
    const after = isNothing(record) ? null : { anchor: placeOf(record), share: this.#share(record) };
    // What hangs below a record that moved moves with it: all rows are counted anew.
    if (before && after && before.anchor !== after.anchor) {
      this.behind = true;
      this.rooms?.clear();
    }
    if (before) await this.#add(before, -1, changes);
    if (after) await this.#add(after, 1, changes);
  }

  /**
   * @param {{anchor: string | null, share: Share}} part @param {1 | -1} sign
   * @param {Map<string, {room: LocalRecord | null, change: Share}>} changes
   */
  async #add(part, sign, changes) {
    const found = await this.#room(part.anchor);
    if (!found) {
      this.behind ||= part.anchor !== null;
      return;
    }
    const { change } = changes.get(found.id) ?? set(changes, found.id, { room: found.room, change: zero() });
    for (const name of /** @type {Array<keyof Share>} */ (Object.keys(change)))
      change[name] += sign * part.share[name];
  }

  /** The room that an anchor leads to; of a remembered one only the id. @param {string | null} anchor */
  async #room(anchor) {
    const known = anchor !== null && this.rooms?.get(anchor);
    if (known && !this.records.has(known)) return { id: known, room: null };
    const room = await roomFrom(anchor, (id) => this.#pass(id));
    if (room && anchor !== null) this.rooms?.set(anchor, room.id);
    return room && { id: room.id, room };
  }

  /** A record on the way to a room, not to be written. @param {string} id */
  #pass(id) {
    const held = this.records.get(id);
    if (held) return Promise.resolve(held);
    return this.passed.get(id) ?? set(this.passed, id, row(this.tx, 'records', id));
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
