// A random history of several phones: edits, removals, settlements, undos, lost, doubled and cut messages, crashes between
// any two durable writes, copied phones, lying clocks. The ledger is kept here, outside the app, at each tick.

import { canonical } from '../../../pwa/storage/canonical.js';
import { cycle } from '../../../pwa/sync/cycle.js';
import { digest } from '../../../pwa/sync/digest.js';
import { NoAnswer } from '../../../pwa/sync/transport.js';
import { newPhone } from './phone.js';

export class Crash extends Error {}

/** A repeatable chance. @param {number} seed */
export function dice(seed) {
  let state = seed >>> 0 || 1;
  const next = () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state / 2 ** 32;
  };
  return {
    chance: (share) => next() < share,
    below: (most) => Math.floor(next() * most),
    pick: (list) => list[Math.floor(next() * list.length)],
  };
}

/** @param {string} record @param {string} facet @param {any} value */
const key = (record, facet, value) => `${record} ${facet} ${canonical(value)}`;

const ROOM_FACETS = ['identity', 'hours', 'ceiling'];
const HOURS_MOST = 8784;
const CLOCKS = [0, 3600e3, -3600e3, 365 * 86400e3, -365 * 86400e3];

export class History {
  /**
   * @param {object} how
   * @param {number} how.seed
   * @param {Array<{person: string, fetch: typeof fetch}>} how.people a way to the server for each phone
   * @param {string} how.site @param {string} how.base @param {boolean} [how.faults] @param {boolean} [how.clones]
   */
  constructor({ seed, people, site, base, faults = true, clones = true }) {
    Object.assign(this, { seed, people, site, base, faults, clones });
    this.dice = dice(seed);
    this.calm = false;
    this.made = 0;
    this.phones = [];
    /** @type {Array<{record: string, facet: string, value: any}>} what was ticked */
    this.ledger = [];
    /** Values that a form showed when a save was begun, ticked or not: a crash may come between the two. @type {Set<string>} */
    this.superseded = new Set();
    /** What an operation said, for its undoing. @type {Map<string, any>} */
    this.written = new Map();
    /** Records that somebody has removed: a full pull may leave them out. @type {Set<string>} */
    this.removed = new Set();
    this.rooms = [];
    this.counts = { ticks: 0, crashes: 0, clones: 0, faults: 0, syncs: 0, edits: 0 };
  }

  async run(steps) {
    for (const _ of this.people) await this.#addPhone(this.phones.length);
    while (this.rooms.length === 0) await this.#act(this.phones[0], (phone) => this.#newRoom(phone));
    for (let step = 0; step < steps; step++) await this.#step();
    await this.#settleDown();
    return this;
  }

  async #addPhone(place, database = `history-${this.seed}-${crypto.randomUUID()}`) {
    const { person, fetch: honest } = this.people[place % this.people.length];
    const offset = this.dice.pick(CLOCKS);
    const phone = await newPhone(
      { fetch: (...args) => this.#send(honest, args) },
      { site: this.site, person, database, base: this.base, now: () => new Date(Date.now() + offset).toISOString() },
    );
    phone.place = place;
    this.#plantCrashes(phone);
    this.phones[place] = phone;
    return phone;
  }

  /** Each durable write may be the last before, or after, a crash. */
  #plantCrashes(phone) {
    const { connection } = phone.storage;
    const honest = connection.run.bind(connection);
    connection.run = async (stores, mode, work, durability) => {
      const crash = !this.calm && mode === 'readwrite' && this.faults && this.dice.chance(0.02);
      if (crash && this.dice.chance(0.5)) throw new Crash('before');
      const result = await honest(stores, mode, work, durability);
      if (crash) throw new Crash('after');
      return result;
    };
  }

  async #send(honest, args) {
    const faulty = !this.calm && this.faults && this.dice.chance(0.25);
    if (!faulty) return honest(...args);
    this.counts.faults += 1;
    const kind = this.dice.pick(['lost', 'answer lost', 'doubled', 'cut']);
    if (kind === 'lost') throw new TypeError('fetch failed');
    const answer = await honest(...args);
    if (kind === 'doubled') return honest(...args);
    if (kind === 'answer lost') throw new TypeError('fetch failed');
    const text = await answer.text();
    return new Response(text.slice(0, this.dice.below(text.length)), { status: answer.status });
  }

  async #step() {
    const phone = this.dice.pick(this.phones);
    const roll = this.dice.below(100);
    if (roll < 58) return this.#act(phone, (each) => this.#edit(each));
    if (roll < 63) return this.#act(phone, (each) => this.#newRoom(each));
    if (roll < 67) return this.#act(phone, (each) => this.#removeOrRestore(each));
    if (roll < 72) return this.#act(phone, (each) => this.#settle(each));
    if (roll < 75) return this.#act(phone, (each) => this.#undo(each));
    if (roll < 76 && this.clones && this.phones.length < 6) return this.#clone(phone);
    return this.#act(phone, (each) => this.#sync(each));
  }

  /** Do something with a phone; after a crash the same database is opened anew. */
  async #act(phone, what) {
    try {
      await what(phone);
    } catch (error) {
      if (!(error instanceof Crash)) throw error;
      this.counts.crashes += 1;
      await phone.storage.close();
      await this.#addPhone(phone.place, phone.database);
    }
  }

  async #sync(phone) {
    this.counts.syncs += 1;
    try {
      await cycle(phone.storage, phone.transport);
    } catch (error) {
      if (!(error instanceof NoAnswer)) throw error;
    }
  }

  #value(facet, parent) {
    this.made += 1;
    const note = `value ${this.seed}.${this.made}`;
    if (facet === 'identity') return { parent, name: note };
    return facet === 'hours' ? { hours_year: this.made % HOURS_MOST } : { note };
  }

  async #newRoom(phone) {
    const { floor, room } = await phone.room(`value ${this.seed}.${++this.made}`);
    const { facets } = await phone.storage.get(room);
    this.#tick(room, 'identity', facets.identity);
    this.rooms.push({ room, floor });
  }

  async #edit(phone) {
    const { room, floor } = this.dice.pick(this.rooms);
    const record = await phone.storage.get(room);
    if (!record || record.removed) return;
    const facet = this.dice.pick(ROOM_FACETS);
    const value = this.#value(facet, floor);
    this.counts.edits += 1;
    this.#supersede(room, facet, record.facets[facet]);
    const [op] = await phone.save({ record: room, type: 'room', facet, value, seen: record.seen[facet] ?? null });
    this.#tick(room, facet, value, op);
  }

  #tick(record, facet, value, op) {
    if (op) this.written.set(op, value);
    this.counts.ticks += 1;
    this.ledger.push({ record, facet, value });
  }

  #supersede(record, facet, ...values) {
    for (const value of values) if (value) this.superseded.add(key(record, facet, value));
  }

  async #removeOrRestore(phone) {
    const { room } = this.dice.pick(this.rooms);
    const record = await phone.storage.get(room);
    if (!record) return;
    this.removed.add(room);
    await (record.removed ? phone.storage.restore(room) : phone.storage.remove(room));
  }

  async #settle(phone) {
    const { room } = this.dice.pick(this.rooms);
    const record = await phone.storage.get(room);
    const conflict = record?.conflicts.find(({ facet }) => facet !== 'life');
    if (!conflict || record.removed) return;
    const { facet } = conflict;
    const settled = record.conflicts.filter((each) => each.facet === facet);
    const shown = record.facets[facet];
    const value = this.dice.chance(0.5) ? conflict.value : (shown ?? conflict.value);
    const ids = settled.map(({ id }) => id);
    this.#supersede(room, facet, shown, ...settled.map((each) => each.value).filter((each) => each !== value));
    const [op] = await phone.save({ record: room, type: 'room', facet, value, seen: record.seen[facet] ?? null, settles: ids });
    this.#tick(room, facet, value, op);
  }

  async #undo(phone) {
    const [newest] = await phone.storage.undoable();
    for (const { record, facet, op } of newest ?? []) {
      this.removed.add(record);
      this.#supersede(record, facet, (await phone.storage.get(record))?.facets[facet], this.written.get(op));
    }
    if (!(await phone.storage.undo())) return;
    for (const { record, facet, kind, before } of newest) if (kind === 'set' && before !== null) this.#tick(record, facet, before);
  }

  /** A copied phone: same ids, same counter, same queue; both go on. */
  async #clone(phone) {
    this.counts.clones += 1;
    const copy = await this.#addPhone(this.phones.length);
    // A backup of a phone is restored for the person whose phone it was.
    Object.assign(copy, { transport: phone.transport });
    copy.storage.person = phone.storage.person;
    const names = ['records', 'outbox', 'refused', 'answered', 'meta'];
    const calm = this.calm;
    this.calm = true;
    for (const name of names) {
      const [keys, values] = await phone.storage.run([name], 'readonly', async (tx) => [
        await tx.objectStore(name).getAllKeys(),
        await tx.objectStore(name).getAll(),
      ]);
      await copy.storage.run([name], 'readwrite', async (tx) => {
        await tx.objectStore(name).clear();
        for (const [at, value] of values.entries())
          await (name === 'meta' ? tx.objectStore(name).put(value, keys[at]) : tx.objectStore(name).put(value));
      });
    }
    this.calm = calm;
    this.people = [...this.people];
    this.people[copy.place] = this.people[phone.place % this.people.length];
  }

  /** The network is back for all: everything arrives, and everybody sees it. */
  async #settleDown() {
    this.calm = true;
    for (let round = 0; round < 3; round++)
      for (const phone of this.phones) await cycle(phone.storage, phone.transport);
  }

  /** What is wrong at the end; empty when every promise was kept. @returns {Promise<string[]>} */
  async wrong() {
    const told = [];
    const digests = await Promise.all(this.phones.map(async ({ storage }) => (await digest(await storage.kept())).digest));
    if (new Set(digests).size !== 1) told.push(`digests differ: ${digests.join(' ')}`);
    for (const { storage, place } of this.phones) {
      const { operations, refused } = await storage.counts();
      if (operations) told.push(`phone ${place} has ${operations} operations left`);
      if (refused) told.push(`phone ${place}: ${JSON.stringify((await storage.refused())[0])}`);
      if ((await storage.syncState()).mismatch) told.push(`phone ${place} does not match the server`);
    }
    return [...told, ...(await this.#missing())];
  }

  /** Values that were ticked and are nowhere: not current, not superseded by one who had seen them, not in a conflict. */
  async #missing() {
    const told = [];
    for (const { record, facet, value } of this.ledger) {
      if (this.superseded.has(key(record, facet, value))) continue;
      const views = await Promise.all(this.phones.map(({ storage }) => storage.get(record)));
      const view = views.find(Boolean);
      if (!view && this.removed.has(record)) continue;
      const there = [view?.facets[facet], ...(view?.conflicts ?? []).filter((c) => c.facet === facet).map((c) => c.value)];
      if (!there.some((each) => each && canonical(each) === canonical(value))) told.push(`lost: ${key(record, facet, value)}`);
    }
    return told;
  }

  /** Conflicts that are open at the end. */
  async conflicts() {
    const kept = await this.phones[0].storage.kept();
    return kept.reduce((count, record) => count + record.conflicts.length, 0);
  }
}
