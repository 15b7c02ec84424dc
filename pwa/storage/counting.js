// The rooms' rows, kept up with what changed in records.

import { plainStore, row } from './connection.js';
import { adjusted, roomFrom, withChange } from './summaries.js';
import { noteRows } from './touched.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').Summary} Summary */
/** @typedef {import('./types.js').Part} Part */
/** @typedef {import('./types.js').Share} Share */
/** @typedef {import('./types.js').Change} Change */
/** @typedef {{room: LocalRecord | null, change: Share}} RoomChange */

/**
 * Bring the rooms' rows up to changes that are written.
 *
 * @param {Tx} tx over records and summaries
 * @param {Change[]} changes
 * @param {Map<string, string>} [rooms] which room an anchor led to, remembered between calls
 * @returns {Promise<boolean>} a row could not be kept up, because the way to its room is not on this phone yet, or has changed
 */
export function countIn(tx, changes, rooms = new Map()) {
  return new Counting(tx, changes, rooms).run();
}

class Counting {
  /** @param {Tx} tx @param {Change[]} changes @param {Map<string, string>} rooms */
  constructor(tx, changes, rooms) {
    this.tx = tx;
    this.changes = changes;
    this.rooms = rooms;
    this.changed = new Set(changes.map(({ id }) => id));
    this.made = new Set(changes.filter(({ before }) => before === null).map(({ id }) => id));
    /** @type {Map<string, Promise<LocalRecord | undefined>>} */
    this.passed = new Map();
    /** @type {Map<string, RoomChange>} */
    this.sums = new Map();
    this.behind = false;
  }

  async run() {
    for (const change of this.changes) await this.#take(change);
    const store = plainStore(this.tx, 'summaries');
    for (const [id, { room, change }] of this.sums) {
      const stored = /** @type {Summary | undefined} */ (await row(this.tx, 'summaries', id));
      if (!stored && !this.made.has(id)) this.behind = true;
      const next = room ? adjusted(stored, room, change) : stored && withChange(stored, change);
      if (next) store.put(next);
      else store.delete(id);
      noteRows(this.tx, [{ room: id, after: next ?? null }]);
    }
    return this.behind;
  }

  /** @param {Change} change */
  async #take({ before, after }) {
    // What hangs below a record that moved moves with it: all rows are counted anew.
    if (before && after && before.anchor !== after.anchor) {
      this.behind = true;
      this.rooms.clear();
    }
    if (before) await this.#add(before, -1);
    if (after) await this.#add(after, 1);
  }

  /** @param {Part} part @param {1 | -1} sign */
  async #add(part, sign) {
    const found = await this.#room(part.anchor);
    if (!found) {
      this.behind ||= found === undefined;
      return;
    }
    const { change } =
      this.sums.get(found.id) ?? set(this.sums, found.id, { room: found.room, change: zero() });
    for (const name of /** @type {Array<keyof Share>} */ (Object.keys(change)))
      change[name] += sign * part.share[name];
  }

  /** The room that an anchor leads to; of a remembered one only the id. @param {string | null} anchor */
  async #room(anchor) {
    const known = anchor !== null && this.rooms.get(anchor);
    if (known && !this.changed.has(known)) return { id: known, room: null };
    const room = await roomFrom(anchor, (id) => this.#pass(id));
    if (room && anchor !== null) this.rooms.set(anchor, room.id);
    return room && { id: room.id, room };
  }

  /** A record on the way to a room. @param {string} id */
  #pass(id) {
    return this.passed.get(id) ?? set(this.passed, id, row(this.tx, 'records', id));
  }
}

/** @returns {Share} */
const zero = () => ({ groups: 0, fixtures: 0, unsent: 0, conflicts: 0, photos_unsent: 0 });

/** @template K, V @param {Map<K, V>} map @param {K} key @param {V} value @returns {V} */
function set(map, key, value) {
  map.set(key, value);
  return value;
}
