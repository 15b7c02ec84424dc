// A random history of several phones: edits, removals, settlements, undos, photos, lost, doubled, cut and late messages,
// crashes between any two durable writes, copied phones, lying clocks; with an office also changes of role, sign-outs,
// phones that change hands, revoked phones and a server set back. The ledger is kept here, outside the app, at each tick.

import { canonical } from '../../../pwa/storage/canonical.js';
import { sha256Of } from '../../../pwa/sync/canonical.js';
import { STORES } from '../../../pwa/storage/schema.js';
import { cycle } from '../../../pwa/sync/cycle.js';
import { digest, digestLine } from '../../../pwa/sync/digest.js';
import { NoAnswer } from '../../../pwa/sync/transport.js';
import { phoneOf } from './office.js';
import { newPhone } from './phone.js';

export class Crash extends Error {}

/** A repeatable chance. @param {number} seed */
export function dice(seed) {
  let state = Math.imul(seed >>> 0 || 1, 0x9e3779b1) >>> 0 || 1;
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
    real: next,
  };
}

/** @param {string} record @param {string} facet @param {any} value */
const key = (record, facet, value) => `${record} ${facet} ${canonical(value)}`;

const ROOM_FACETS = ['identity', 'hours', 'ceiling'];
const HOURS_MOST = 8784;
const CLOCKS = [0, 3600e3, -3600e3, 365 * 86400e3, -365 * 86400e3];
const MOST_PHONES = 7;
const CAREFUL_ROOMS = 8;
const ROLES = ['surveyor', 'surveyor', 'crew', null];

/** How often a message goes wrong, and a durable write is the last before or after a crash. */
const ROUGH = { faults: 0.25, crashes: 0.02 };
const CAREFUL = { faults: 0.05, crashes: 0.002, otherRooms: 0.1, signalTurns: 0.05 };

/** Share of steps of each kind; those of the office happen only where there is one. */
const STEPS = {
  edit: 46, newRoom: 5, removeOrRestore: 4, settle: 5, undo: 3, photo: 4, clone: 1, clock: 1, late: 4, sync: 27,
}; // biome-ignore format: one line says it
const OFFICE_STEPS = {
  role: 2, revoke: 0.3, held: 2, signOut: 1.5, hands: 2, retry: 3, drop: 1, floor: 1.5, move: 2, settleLife: 3,
}; // biome-ignore format: one line says it
const SET_BACK_STEPS = { backUp: 1.5, setBack: 1 };

export class History {
  /**
   * @param {object} how
   * @param {number} how.seed
   * @param {Array<{name?: string, person: string, cookie?: string}>} how.people one phone for each to begin with
   * @param {(phone: any) => typeof fetch} how.network a phone's way to the server; takes `x-fault` to heart
   * @param {string} how.site @param {string} how.base
   * @param {import('./office.js').Office} [how.office] how the server is looked at
   * @param {boolean} [how.officeActs] roles, sessions, phones and held work change meanwhile
   * @param {boolean} [how.setBacks] the server is set back to a backup
   * @param {boolean} [how.careful] everybody keeps to their own rooms, mostly, and syncs after each save when there is a signal
   * @param {ArrayBuffer} [how.jpeg] a photo; none: no photos
   * @param {{late: any[], deliver: (place: number) => Promise<void>}} [how.post] messages that are late
   */
  constructor({
    seed,
    people,
    network,
    site,
    base,
    office,
    officeActs = false,
    setBacks = false,
    careful = false,
    jpeg,
    post,
  }) {
    Object.assign(this, { seed, people, network, site, base, office, officeActs, careful, jpeg, post });
    this.shares = careful ? CAREFUL : ROUGH;
    this.alone = people.length === 1;
    this.setBacks = setBacks;
    this.dice = dice(seed);
    this.pageSize = this.dice.pick([2, 3, 7, 1000]);
    this.steps = Object.entries({
      ...STEPS,
      ...(officeActs && OFFICE_STEPS),
      ...(setBacks && SET_BACK_STEPS),
    });
    this.steps = this.steps.filter(
      ([name]) => !(name === 'clone' && this.alone) && !(name === 'photo' && !jpeg),
    );
    this.calm = false;
    this.made = 0;
    this.phones = [];
    /** @type {Array<{record: string, facet: string, value: any, showed: any, after: number}>} what was ticked */
    this.ledger = [];
    /** Values that a form showed when a save was begun, ticked or not: a crash may come between the two. @type {Set<string>} */
    this.superseded = new Set();
    /** Those whose successor was ticked. @type {Set<string>} */
    this.replaced = new Set();
    /** What an operation of a phone said, for its undoing: a copy may give the same id to another. @type {Map<string, any>} */
    this.written = new Map();
    /** Records that somebody has removed: a full pull may leave them out. @type {Set<string>} */
    this.removed = new Set();
    /** Values that somebody who removed their record had seen. */
    this.seenGone = new Set();
    /** Photos ticked. @type {Set<string>} */
    this.photos = new Set();
    this.rooms = [];
    this.backups = 0;
    /** Phones without a signal, where everybody is careful. @type {Set<number>} */
    this.noSignal = new Set();
    this.counts = {
      ticks: 0, crashes: 0, clones: 0, faults: 0, syncs: 0, edits: 0, photos: 0, meanwhile: 0, late: 0,
      roles: 0, revoked: 0, signOuts: 0, hands: 0, released: 0, retried: 0, setBacks: 0, opened: 0,
    }; // biome-ignore format: one line says it
    /** What must never happen, as it happened. @type {string[]} */
    this.told = [];
  }

  async run(steps) {
    for (const place of this.people.keys()) await this.#addPhone(place, place);
    while (this.rooms.length === 0) await this.#act(this.phones[0], (phone) => this.#newRoom(phone));
    for (let step = 0; step < steps; step++) await this.#step();
    await this.#settleDown();
    return this;
  }

  /** @param {number} who of the people @param {number} place which device it is, of those that can change hands */
  async #addPhone(
    who,
    place,
    { database = `history-${this.seed}-${crypto.randomUUID()}`, index = this.phones.length } = {},
  ) {
    const offset = { ms: this.dice.pick(CLOCKS) };
    const about = {
      who,
      place,
      index,
      offset,
      active: true,
      cookie: this.people[who].cookie,
      revoked: false,
    };
    const phone = await newPhone(
      { fetch: (...args) => this.#send(phone, args) },
      {
        site: this.site,
        person: this.people[who].person,
        database,
        base: this.base,
        now: () => new Date(Date.now() + offset.ms).toISOString(),
      },
    );
    Object.assign(phone, about);
    phone.way = this.network(phone);
    const run = (phone.run = (this.phones[index]?.run ?? 0) + 1);
    phone.netDice = dice(this.seed * 1009 + index * 31 + run);
    phone.crashDice = dice(this.seed * 2003 + index * 37 + run);
    this.#watch(phone);
    this.phones[index] = phone;
    return phone;
  }

  /** Each durable write may be the last before, or after, a crash; a copy that needs to be fetched anew is a fault. */
  #watch(phone) {
    const { connection } = phone.storage;
    const honest = connection.run.bind(connection);
    connection.run = async (stores, mode, work, durability) => {
      const crash =
        !this.calm && !phone.sheltered && mode === 'readwrite' && phone.crashDice.chance(this.shares.crashes);
      if (crash && phone.crashDice.chance(0.5)) throw new Crash('before');
      const result = await honest(stores, mode, work, durability);
      if (crash) throw new Crash('after');
      return result;
    };
    const { answered, needAll } = phone.storage;
    phone.storage.answered = (batch, answers, about) => {
      const lost = answers.filter(({ result }) => result === 'conflict');
      this.counts.opened += lost.length;
      const odd = this.alone && lost.find(({ record }) => record && !record.removed);
      if (odd) this.told.push(`a conflict with oneself: ${odd.id} of ${odd.record.id}`);
      return answered(batch, answers, about);
    };
    phone.storage.needAll = async (why) => {
      if (why === 'digest-differs')
        this.told.push(`phone ${phone.index}: its copy differed: ${await this.#difference(phone)}`);
      return needAll(why);
    };
  }

  /** The first record that is not on a phone what it is on the server, for whoever looks for the reason. */
  async #difference({ storage }) {
    if (!this.office) return '?';
    const { records } = await this.office.siteState();
    const there = new Map(records.map((record) => [record.id, digestLine(record)]));
    const kept = await storage.kept();
    const odd = kept.find((record) => digestLine(record) !== (there.get(record.id) ?? null));
    const lacking = records.find((record) => !kept.some(({ id }) => id === record.id));
    return `here ${odd && digestLine(odd)}, there ${odd ? there.get(odd.id) : JSON.stringify(lacking)}`;
  }

  // -- the network

  async #send(phone, [address, request]) {
    const small = String(address).replace('limit=1000', `limit=${this.pageSize}`);
    const isPush = small.endsWith('/push');
    if (isPush) await this.#meanwhile(phone);
    const fault = this.#fault(phone, request);
    if (fault) this.counts.faults += 1;
    const headers = fault
      ? { ...request.headers, 'x-fault': fault, 'x-fault-at': String(phone.netDice.real()) }
      : request.headers;
    const answer = await phone.way(small, { ...request, headers });
    if (isPush) await this.#meanwhile(phone);
    return answer;
  }

  #fault(phone, request) {
    if (this.calm || !phone.netDice.chance(this.shares.faults)) return null;
    const fault = phone.netDice.pick([
      'lost',
      'late',
      'request-cut',
      'answer-lost',
      'answer-lost',
      'doubled',
      'cut',
      'delayed',
    ]);
    return fault === 'request-cut' && !request.body ? 'lost' : fault;
  }

  /** The person goes on working while a push is on its way. */
  async #meanwhile(phone) {
    if (this.calm || this.careful || !phone.netDice.chance(0.2)) return;
    this.counts.meanwhile += 1;
    phone.sheltered = true;
    await this.#edit(phone, phone.netDice);
    phone.sheltered = false;
  }

  // -- steps

  #pickStep() {
    let roll = this.dice.real() * this.steps.reduce((sum, [, share]) => sum + share, 0);
    for (const [name, share] of this.steps) if ((roll -= share) < 0) return name;
    return 'sync';
  }

  async #step() {
    const phone = this.dice.pick(this.phones.filter((each) => each.active));
    if (this.careful) return this.#act(phone, (each) => this.#carefulStep(each));
    const whatever = {
      edit: (each) => this.#edit(each),
      newRoom: (each) => this.#newRoom(each),
      removeOrRestore: (each) => this.#removeOrRestore(each),
      settle: (each) => this.#settle(each),
      undo: (each) => this.#undo(each),
      photo: (each) => this.#photo(each),
      clone: (each) => this.#clone(each),
      clock: async (each) => void (each.offset.ms = this.dice.pick(CLOCKS)),
      late: () => this.#deliverLate(),
      sync: (each) => this.#sync(each),
      role: () => this.#role(),
      revoke: (each) => this.#revoke(each),
      held: () => this.#held(),
      signOut: (each) => this.#signOut(each),
      hands: (each) => this.#changeHands(each),
      retry: (each) => this.#retry(each),
      drop: (each) => this.#drop(each),
      floor: (each) => this.#removeOrRestoreFloor(each),
      move: (each) => this.#move(each),
      settleLife: (each) => this.#settleLife(each),
      backUp: () => this.#backUp(),
      setBack: () => this.#setBack(),
    };
    return this.#act(phone, whatever[this.#pickStep()]);
  }

  /** Do something with a phone; after a crash the same database is opened anew. */
  async #act(phone, what) {
    try {
      await what(phone);
    } catch (error) {
      if (!(error instanceof Crash)) throw error;
      this.counts.crashes += 1;
      await phone.storage.close();
      const { who, place, index, database, cookie, revoked } = phone;
      Object.assign(await this.#addPhone(who, place, { database, index }), { cookie, revoked });
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

  async #deliverLate() {
    if (!this.post?.late.length) return;
    this.counts.late += 1;
    await this.post.deliver(this.dice.below(this.post.late.length));
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
    this.rooms.push({ room, floor, by: phone.who });
  }

  /** One who knows which rooms are whose, and whose phone syncs by itself. */
  async #carefulStep(phone) {
    if (this.dice.chance(this.shares.signalTurns))
      this.noSignal.has(phone.index) ? this.noSignal.delete(phone.index) : this.noSignal.add(phone.index);
    const mine = this.rooms.filter(({ by }) => by === phone.who);
    const others = mine.length === 0 || this.dice.chance(this.shares.otherRooms);
    if (mine.length < CAREFUL_ROOMS) await this.#newRoom(phone);
    else await this.#edit(phone, this.dice, others ? this.rooms : mine);
    if (!this.noSignal.has(phone.index)) await this.#sync(phone);
  }

  async #edit(phone, by = this.dice, rooms = this.rooms) {
    const { room, floor } = by.pick(rooms);
    const facet = by.pick(ROOM_FACETS);
    const record = await phone.storage.get(room);
    if (!record || record.removed) return;
    this.counts.edits += 1;
    await this.#save(phone, record, facet, this.#value(facet, floor), []);
  }

  /** A form that showed what is there is saved. @param {string[]} settles @param {any[]} [closed] values of the conflicts that it closes */
  async #save(phone, record, facet, value, settles, closed = []) {
    const seen = record.seen[facet] ?? null;
    const showed = record.facets[facet];
    const gone = [showed, ...closed].filter((each) => each !== undefined && each !== value);
    for (const each of gone) this.superseded.add(key(record.id, facet, each));
    const [op] = await phone.save({ record: record.id, type: 'room', facet, value, seen, settles });
    this.written.set(`${phone.index} ${op}`, value);
    this.#tick(record.id, facet, value, showed);
    for (const each of gone) this.replaced.add(key(record.id, facet, each));
  }

  #tick(record, facet, value, showed) {
    this.counts.ticks += 1;
    this.ledger.push({ record, facet, value, showed });
  }

  /** A removal sees what the phone shows of a record: its own conflicts of these values close with it. */
  #removes(record) {
    this.removed.add(record.id);
    if (record.removed) return;
    for (const [facet, value] of Object.entries(record.facets))
      this.seenGone.add(key(record.id, facet, value));
  }

  async #removeOrRestore(phone) {
    const { room } = this.dice.pick(this.rooms);
    const record = await phone.storage.get(room);
    if (!record) return;
    this.#removes(record);
    await (record.removed ? phone.storage.restore(room) : phone.storage.remove(room));
  }

  /** With all that the phone shows below it. */
  async #removeOrRestoreFloor(phone) {
    const { floor } = this.dice.pick(this.rooms);
    const record = await phone.storage.get(floor);
    if (!record) return;
    for (const each of [record, ...(await phone.storage.children(floor))]) this.#removes(each);
    await (record.removed ? phone.storage.restore(floor) : phone.storage.remove(floor));
  }

  /** A room goes to another floor, which somebody may have removed meanwhile. */
  async #move(phone) {
    const { room } = this.dice.pick(this.rooms);
    const { floor } = this.dice.pick(this.rooms);
    const [record, there] = [await phone.storage.get(room), await phone.storage.get(floor)];
    if (!record || record.removed || !there || there.removed) return;
    await this.#save(phone, record, 'identity', this.#value('identity', floor), []);
  }

  /** Whether a record stays is settled by removing or restoring it, as the screen does. */
  async #settleLife(phone) {
    const kept = await phone.storage.everything();
    const open = kept.filter(({ conflicts }) => conflicts.some(({ facet }) => facet === 'life'));
    const record = this.dice.pick(open.sort((a, b) => (a.at.identity < b.at.identity ? -1 : 1)));
    if (!record) return;
    const ids = record.conflicts.filter(({ facet }) => facet === 'life').map(({ id }) => id);
    for (const each of [record, ...(await phone.storage.children(record.id))]) this.#removes(each);
    await (this.dice.chance(0.5)
      ? phone.storage.remove(record.id, ids)
      : phone.storage.restore(record.id, ids));
  }

  async #settle(phone) {
    const { room } = this.dice.pick(this.rooms);
    const record = await phone.storage.get(room);
    const conflict = record?.conflicts.find(({ facet }) => facet !== 'life');
    if (!conflict || record.removed) return;
    const { facet } = conflict;
    const settled = record.conflicts.filter((each) => each.facet === facet);
    const value = this.dice.chance(0.5) ? conflict.value : (record.facets[facet] ?? conflict.value);
    await this.#save(
      phone,
      record,
      facet,
      value,
      settled.map(({ id }) => id),
      settled.map((each) => each.value),
    );
  }

  async #undo(phone) {
    const [newest] = await phone.storage.undoable();
    for (const { record, facet, op } of newest ?? []) {
      this.removed.add(record);
      for (const value of [
        (await phone.storage.get(record))?.facets[facet],
        this.written.get(`${phone.index} ${op}`),
      ])
        if (value) this.superseded.add(key(record, facet, value));
    }
    if (!(await phone.storage.undo())) return;
    for (const { record, facet, kind, before } of newest)
      if (kind === 'set' && before !== null) this.#tick(record, facet, before);
  }

  /** A photo unlike every other: a comment in it that numbers it. */
  async #photo(phone) {
    const { room } = this.dice.pick(this.rooms);
    if (!(await phone.storage.get(room))) return;
    const comment = new TextEncoder().encode(`photo ${this.seed}.${++this.made}`);
    const whole = new Uint8Array(this.jpeg);
    const bytes = new Uint8Array([
      ...whole.subarray(0, 2),
      0xff,
      0xfe,
      0,
      comment.length + 2,
      ...comment,
      ...whole.subarray(2),
    ]).buffer;
    const sha256 = await sha256Of(bytes);
    const id = crypto.randomUUID();
    const value = { parent: this.site, subject: room, purpose: 'room', sha256, bytes: bytes.byteLength };
    const row = { sha256, record: id, bytes: bytes.byteLength, at: phone.storage.now(), received: false };
    await phone.storage.save([{ record: id, type: 'photo', facet: 'identity', value, seen: null }], {
      row,
      bytes,
    });
    this.counts.photos += 1;
    this.photos.add(sha256);
    this.#tick(id, 'identity', value);
  }

  /** A copied phone: same ids, same counter, same queue; both go on. */
  async #clone(phone) {
    if (this.phones.length >= MOST_PHONES) return;
    this.counts.clones += 1;
    const copy = await this.#addPhone(phone.who, this.phones.length);
    copy.cookie = phone.cookie;
    for (const [name, value] of [...this.written])
      if (name.startsWith(`${phone.index} `))
        this.written.set(name.replace(/^\d+/, String(copy.index)), value);
    const { calm } = this;
    this.calm = true;
    for (const name of STORES) {
      const [keys, values] = await phone.storage.run([name], 'readonly', async (tx) => [
        await tx.objectStore(name).getAllKeys(),
        await tx.objectStore(name).getAll(),
      ]);
      await copy.storage.run([name], 'readwrite', async (tx) => {
        const store = tx.objectStore(name);
        await store.clear();
        for (const [at, value] of values.entries())
          await (store.keyPath === null ? store.put(value, keys[at]) : store.put(value));
      });
    }
    this.calm = calm;
  }

  // -- the office

  async #role() {
    const { name } = this.dice.pick(this.people.filter((each) => each.name !== 'manager'));
    this.counts.roles += 1;
    await this.office.setRole(name, this.dice.pick(ROLES));
  }

  async #revoke(phone) {
    const { device } = await phone.storage.phone();
    if (!(await this.office.revoke(device))) return;
    this.counts.revoked += 1;
    for (const each of this.phones) if ((await each.storage.phone()).device === device) each.revoked = true;
  }

  async #held() {
    const ids = (await this.office.held()).map(({ id }) => id);
    const let_in = ids.filter(() => this.dice.chance(0.7));
    this.counts.released += let_in.length;
    if (ids.length) await this.office.settleHeld(let_in, ids.filter((id) => !let_in.includes(id)).slice(1));
  }

  async #signOut(phone) {
    this.counts.signOuts += 1;
    if (phone.cookie && phone.cookie !== this.people[phone.who].cookie)
      await this.office.signOut(phone.cookie);
    phone.cookie = '';
  }

  /** Another person signs in on the phone, or the first one again; what the other left stays in a database of its own. */
  async #changeHands(phone) {
    this.counts.hands += 1;
    await this.#signOut(phone);
    const who = this.dice.below(this.people.length);
    phone.active = false;
    await phone.storage.close();
    const mine = this.phones.find((each) => each.place === phone.place && each.who === who);
    const next = mine ?? (this.phones.length < MOST_PHONES ? await this.#addPhone(who, phone.place) : phone);
    next.active = true;
    await this.#signIn(next);
  }

  /** On a phone of its own: with which the first ones began, all of a person's share. */
  async #signIn(phone) {
    phone.cookie = await this.office.signIn(this.people[phone.who].name, phone.own);
    phone.own = phoneOf(phone.cookie);
  }

  async #retry(phone) {
    const [row] = await phone.storage.refused();
    if (!row) return;
    this.counts.retried += await phone.storage.retryRefused(row.id, null);
  }

  async #drop(phone) {
    const row = this.dice.pick(await phone.storage.refused());
    if (!row) return;
    if (row.op.to) this.superseded.add(key(row.record, row.op.facet, row.op.to));
    if (row.op.facet === 'identity') this.removed.add(row.record);
    await phone.storage.dropRefused(row.id);
  }

  async #backUp() {
    this.backups += 1;
    await this.office.backUp();
  }

  async #setBack() {
    if (this.backups === 0) return;
    this.counts.setBacks += 1;
    await this.office.putBack();
    // Nobody is signed in after a restore.
    this.office.cookie = await this.office.signIn('owner');
    for (const phone of this.phones)
      if (phone.cookie) phone.cookie = await this.office.signIn(this.people[phone.who].name);
  }

  // -- the end

  /** The network is back for all, everybody has the first role and is signed in: all arrives, and everybody sees it. */
  async #settleDown() {
    this.calm = true;
    while (this.post?.late.length) await this.#deliverLate();
    if (this.officeActs) await this.#bringBack();
    for (let round = 0; round < 4; round++) {
      for (const phone of this.phones) await this.#finalSync(phone);
      if (round === 0 && this.officeActs) await this.#askAgain();
    }
  }

  async #finalSync(phone) {
    try {
      await cycle(phone.storage, phone.transport);
    } catch (error) {
      if (error.code !== 'device-revoked' || this.counts.revoked === 0) throw error;
      phone.revoked = true;
    }
  }

  async #bringBack() {
    for (const { name } of this.people)
      await this.office.setRole(name, name === 'manager' ? 'manager' : 'surveyor');
    for (const phone of this.phones)
      if (!(await this.office.signedIn(phone.cookie)))
        await this.#signIn(phone);
  }

  /** Half of what was refused or held is asked for again; the rest stays where it is seen. */
  async #askAgain() {
    if (this.dice.chance(0.5)) await this.#held();
    for (const phone of this.phones.filter((each) => !each.revoked))
      if (this.dice.chance(0.5)) await this.#retry(phone);
  }

  /** What is wrong at the end; empty when every promise was kept. @returns {Promise<string[]>} */
  async wrong() {
    const phones = this.phones.filter((phone) => !phone.revoked);
    const digests = await Promise.all(
      phones.map(async ({ storage }) => (await digest(await storage.kept())).digest),
    );
    if (this.office) {
      const { told, own } = await this.office.siteState();
      digests.push(told, own);
    }
    const told = [...this.told];
    if (new Set(digests).size !== 1) told.push(`digests differ: ${digests.join(' ')}`);
    for (const phone of phones) told.push(...(await this.#wrongOf(phone)));
    const state = await this.#state(phones);
    for (const phone of this.phones) told.push(...(await this.#oddRefusals(phone, state)));
    if (!this.officeActs && !this.setBacks) told.push(...this.#false(state));
    return [...told, ...this.#missing(state), ...(await this.#missingPhotos())];
  }

  async #wrongOf({ storage, index }) {
    const told = [];
    const { operations, photos } = await storage.counts();
    if (operations) told.push(`phone ${index} has ${operations} operations left`);
    const [photo] = (await storage.photosHere()).filter((each) => each.refused);
    if (photos && !(photo?.refused.code === 'phone.photo-lost'))
      told.push(`phone ${index} has ${photos} photos left`);
    if ((await storage.syncState()).mismatch) told.push(`phone ${index} does not match the server`);
    return told;
  }

  /** Refusals that nothing that happened explains. */
  async #oddRefusals({ storage, index }, { records }) {
    const explained = ({ code, facts }) =>
      ['no-right', 'refers-to-refused', 'held', 'held-refused'].includes(code) ||
      (['record-missing', 'referred-record-missing'].includes(code) &&
        this.setBacks &&
        !records.has(facts.value));
    const odd = (await storage.refused()).filter((row) => !this.officeActs || !explained(row));
    return odd.map((row) => `phone ${index} refused: ${JSON.stringify(row)}`);
  }

  /** What is where at the end: the site as all have it, and what is to be seen on one phone only. */
  async #state(phones) {
    const kept = (await phones[0].storage.kept()).filter(({ facets }) => Object.keys(facets).length > 0);
    const records = new Map(kept.map((record) => [record.id, record]));
    const aside = new Set();
    for (const { storage } of this.phones) {
      for (const { record, op } of await storage.refused())
        if (op.to) aside.add(key(record, op.facet, op.to));
      for (const { record, facet, value } of await storage.recovered()) aside.add(key(record, facet, value));
    }
    return { records, aside };
  }

  /** Values that were ticked and are nowhere. */
  #missing({ records, aside }) {
    const told = [];
    for (const { record, facet, value } of this.ledger) {
      const name = key(record, facet, value);
      if (this.superseded.has(name) || aside.has(name)) continue;
      const held = records.get(record);
      if (!held && this.removed.has(record)) continue;
      if (held?.facets.life?.value.removed && this.seenGone.has(name)) continue;
      const there = [
        held?.facets[facet]?.value,
        ...(held?.conflicts ?? []).filter((c) => c.facet === facet).map((c) => c.value),
      ];
      if (!there.some((each) => each && canonical(each) === canonical(value))) told.push(`lost: ${name}`);
    }
    return told;
  }

  /** Conflicts that nobody has made: a value against what its maker saw, or one that somebody who saw it has replaced. */
  #false({ records }) {
    const times = new Map();
    for (const { record, facet, value } of this.ledger) {
      const name = key(record, facet, value);
      times.set(name, (times.get(name) ?? 0) + 1);
    }
    const told = [];
    for (const { record, facet, value, showed } of this.ledger) {
      const name = key(record, facet, value);
      const held = records.get(record);
      if (!held || this.removed.has(record) || times.get(name) !== 1) continue;
      const open = held.conflicts.some(
        (each) => each.facet === facet && canonical(each.value) === canonical(value),
      );
      if (!open) continue;
      const now = held.facets[facet] && key(record, facet, held.facets[facet].value);
      if (this.alone) told.push(`a conflict with oneself: ${name}`);
      // A copied phone still has, and sends, what the other has rewritten since: a person settles that.
      if (this.counts.clones > 0) continue;
      if (showed && key(record, facet, showed) === now && times.get(now) === 1)
        told.push(`a conflict with what was seen: ${name}`);
      if (this.replaced.has(name)) told.push(`a conflict of what was replaced: ${name}`);
    }
    return told;
  }

  /** Photos that were ticked are on the server, or still on a phone and said to be. */
  async #missingPhotos() {
    if (!this.office) return [];
    const here = new Set();
    for (const { storage } of this.phones)
      for (const { sha256 } of await storage.photosHere())
        if (await storage.photoBytes(sha256)) here.add(sha256);
    const told = [];
    for (const sha256 of this.photos)
      if (!here.has(sha256) && !(await this.office.hasPhoto(sha256))) told.push(`photo lost: ${sha256}`);
    return told;
  }

  /** Conflicts that are open at the end. */
  async conflicts() {
    const kept = await this.phones[0].storage.kept();
    return kept.reduce((count, record) => count + record.conflicts.length, 0);
  }
}
