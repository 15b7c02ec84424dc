// The scenarios of the fourteen promises, each with phones of the shipped code over HTTP. What came of it is judged by the tests.

import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { STORES } from '../../pwa/storage/schema.js';
import { FAULTS } from '../sync/support/faulty_proxy.js';
import { canonical, Crash } from './stage.js';

/** What can become of a question that changes nothing. */
const OF_A_QUESTION = ['lost', 'answer-lost', 'doubled', 'cut'];
const HOUR_MS = 3600e3;
const YEAR_MS = 365 * 24 * HOUR_MS;

/** A value without the ids in it. */
const plain = (value) => canonical({ ...value, parent: undefined });

/** What is open and what stands of a room, without ids. */
const toldOf = (record) => ({
  removed: record.removed,
  values: Object.fromEntries(
    Object.entries(record.facets).map(([facet, held]) => [facet, plain(held.value)]),
  ),
  conflicts: record.conflicts.map(({ facet, value, kind }) => `${facet} ${kind} ${plain(value)}`).sort(),
});

/** A morning's work, save by save and sync by sync; `ledger` is told of each tick. */
async function morning(stage, phone, place, ledger, { from = 0 } = {}) {
  const { floor, room } = place;
  const tick = (record, facet, value) => ledger.push({ record, facet, value });
  const set = async (facet, value) => {
    await phone.set(room, 'room', facet, value);
    tick(room, facet, value);
  };
  const sync = () => stage.trySync(phone);
  const steps = [
    () => set('identity', { parent: floor, name: 'Boiler' }),
    () => set('hours', { hours_year: 100 }),
    sync,
    () => set('hours', { hours_year: 200 }),
    async () => {
      const { record, value, sha256 } = await stage.takePhoto(phone, room);
      tick(record, 'identity', value);
      place.photos.push(sha256);
    },
    () => set('ceiling', { note: 'low' }),
    sync,
    () => set('hours', { hours_year: 300 }),
    // Nobody has seen the 300 yet: the phone rewrites it, and only 301 goes out.
    async () => {
      const rewritten = ledger.pop();
      await set('hours', { hours_year: 301 }).catch((error) => {
        if (error.message === 'before') ledger.push(rewritten);
        throw error;
      });
    },
    sync,
  ];
  for (const [number, step] of steps.entries()) {
    if (number < from) continue;
    // A save that showed no tick is not made again here; a sync that broke off is.
    place.next = step === sync ? number : number + 1;
    await step();
  }
}

async function newPlace(stage, phone) {
  const { floor, room } = await phone.room('Plant');
  return { floor, room, photos: [], next: 0 };
}

// 1

/** The phone dies before or after each of its durable writes in turn, and is started again. */
export async function killedAtEachWrite(stage) {
  const runs = [];
  const count = await undisturbedWrites(stage);
  for (let at = 0; at < count; at++)
    for (const when of ['before', 'after']) runs.push(await killedAt(stage, at, when));
  return { writes: count, runs };
}

async function undisturbedWrites(stage) {
  const phone = await stage.phone();
  const place = await newPlace(stage, phone);
  phone.writes = 0;
  await morning(stage, phone, place, []);
  return phone.writes;
}

async function killedAt(stage, at, when) {
  let phone = await stage.phone();
  const place = await newPlace(stage, phone);
  const ledger = [];
  phone.writes = 0;
  let died = false;
  phone.write = (number, which) => {
    if (number !== at || which !== when) return;
    died = true;
    throw new Crash(when);
  };
  try {
    await morning(stage, phone, place, ledger);
  } catch (error) {
    if (!(error instanceof Crash)) throw error;
    await phone.storage.close();
    phone = await stage.phone({ database: phone.database });
    await morning(stage, phone, place, ledger, { from: place.next });
  }
  await stage.settle([phone]);
  return {
    at,
    when,
    died,
    ledger,
    photos: place.photos,
    room: place.room,
    left: await stage.left(phone),
    matches: !(await phone.storage.syncState()).mismatch,
  };
}

/** The server is killed while a push, a pull or a photo is on its way, and started again. */
export async function serverKilled(stage, { kills }) {
  const phone = await stage.phone();
  const place = await newPlace(stage, phone);
  const ledger = [];
  const runs = [];
  for (const kill of kills) {
    const base = phone.requests;
    phone.fault = async (number, address, request) => {
      if (number - base !== kill.request) return null;
      phone.fault = () => null;
      // The request is on its way when the server dies, and nobody knows how far it came.
      const sent = fetch(address, {
        ...request,
        headers: { ...request.headers, Cookie: phone.cookie },
      }).catch(() => null);
      await stage.ask({ ask: 'kill server', after_ms: kill.afterMs });
      await sent;
      return 'lost';
    };
    const value = { hours_year: 1000 + runs.length };
    await phone.set(place.room, 'room', 'hours', value);
    ledger.push({ record: place.room, facet: 'hours', value });
    const photo = await stage.takePhoto(phone, place.room);
    ledger.push({ record: photo.record, facet: 'identity', value: photo.value });
    place.photos.push(photo.sha256);
    runs.push(await stage.trySync(phone));
    await stage.ask({ ask: 'start server' });
  }
  await stage.settle();
  return { runs, ledger, photos: place.photos, left: await stage.left(phone), one: await stage.oneState() };
}

// 2

/** Each message of a morning in turn is lost, late, cut, doubled or its answer lost; then two phones' messages cross. */
export async function eachMessageGoesWrong(stage) {
  const undisturbed = await withFault(stage, -1, null);
  const runs = [];
  for (const [at, method] of undisturbed.methods.entries())
    for (const fault of method === 'GET' ? OF_A_QUESTION : FAULTS)
      runs.push(await withFault(stage, at, fault));
  return { undisturbed, runs };
}

async function withFault(stage, at, fault) {
  const phone = await stage.phone();
  const place = await newPlace(stage, phone);
  const ledger = [];
  const methods = [];
  phone.fault = (number, _address, { method }) => {
    methods.push(method);
    return number === at ? fault : null;
  };
  await morning(stage, phone, place, ledger);
  phone.fault = () => null;
  await stage.settle([phone]);
  const { mismatch } = await phone.storage.syncState();
  const room = toldOf((await phone.storage.kept()).find(({ id }) => id === place.room));
  return { at, fault, mismatch, methods, ledger, photos: place.photos, room, left: await stage.left(phone) };
}

/** Requests of one phone arrive in another order than they were sent, long after it gave them up. */
export async function lateMessagesArriveInAnyOrder(stage) {
  const phone = await stage.phone();
  const place = await newPlace(stage, phone);
  await stage.settle();
  const ledger = [];
  phone.fault = (_number, address) => (address.endsWith('/push') ? 'late' : null);
  for (const hours_year of [1, 2, 3, 4]) {
    await phone.set(place.room, 'room', 'hours', { hours_year });
    ledger.push({ record: place.room, facet: 'hours', value: { hours_year } });
    await stage.trySync(phone);
  }
  phone.fault = () => null;
  for (const number of [2, 0, 1, 0]) await stage.proxy.deliver(number);
  await stage.settle();
  const room = (await stage.records()).find(({ id }) => id === place.room);
  return { ledger, room: toldOf(room), one: await stage.oneState(), late: stage.proxy.late.length };
}

// 3 and 4

const ORDERS = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]]; // biome-ignore format: one line says it

/** Three phones change the same facets unseen, sync in every order, settle half, with clocks that are wrong. */
export async function everyOrderOfSyncs(stage, { clocks, orders = ORDERS.length }) {
  const runs = [];
  for (const order of ORDERS.slice(0, orders)) runs.push(await inOrder(stage, order, clocks));
  return runs;
}

async function inOrder(stage, order, clocks) {
  const phones = await Promise.all([0, 1, 2].map((who) => stage.phone({ who, clockMs: clocks[who] })));
  const { room, floor } = await phones[0].room('Plant');
  await stage.settle(phones);
  const ledger = [];
  const set = async (who, facet, value) => {
    const showed = (await phones[who].storage.get(room)).facets[facet];
    await phones[who].set(room, 'room', facet, value);
    ledger.push({ facet, value: plain(value), over: showed ? plain(showed) : null });
  };
  for (const who of [0, 1, 2]) {
    await set(who, 'hours', { hours_year: 10 + who });
    await set(who, 'hours', { hours_year: 20 + who });
    if (who !== 1) await set(who, 'ceiling', { note: `seen by ${who}` });
  }
  await set(1, 'identity', { parent: floor, name: 'Plant room' });
  for (const who of order) await phones[who].sync();
  const told = toldOf((await stage.records()).find(({ id }) => id === room));
  const { conflicts, facets, seen } = await phones[order[2]].storage.get(room);
  const open = conflicts.filter(({ facet }) => facet === 'hours');
  await phones[order[2]].save({
    record: room,
    type: 'room',
    facet: 'hours',
    value: open[0].value,
    seen: seen.hours,
    settles: open.map(({ id }) => id),
  });
  for (const each of [facets.hours, ...open.map(({ value }) => value)])
    ledger.push({ facet: 'hours', value: plain(open[0].value), over: plain(each) });
  await stage.settle(phones);
  const after = toldOf((await stage.records()).find(({ id }) => id === room));
  return { order, told, after, ledger, one: await stage.oneState(phones) };
}

// 5

/** One removes, another edits what it has not heard to be removed, in both orders, one of them a year away. */
export async function removalMeetsEdit(stage) {
  const runs = [];
  for (const removerFirst of [true, false])
    for (const child of [false, true]) runs.push(await removal(stage, removerFirst, child));
  return runs;
}

async function removal(stage, removerFirst, child) {
  const remover = await stage.phone({ who: 0 });
  const away = await stage.phone({ who: 1, clockMs: -YEAR_MS });
  const { floor, room } = await remover.room('Store');
  await stage.settle([remover, away]);
  const built = crypto.randomUUID();
  if (child)
    await away.set(built, 'lux_reading', 'identity', { parent: room, point: 'A', lux: 210, when: 'before' });
  else await away.set(room, 'room', 'hours', { hours_year: 77 });
  await remover.storage.remove(room);
  // The year passes: a hundred other changes, and many syncs of those who are not away.
  const year = async () => {
    await remover.sync();
    for (let number = 0; number < 100; number++)
      await remover.set(floor, 'floor', 'identity', { parent: stage.site, name: `Ground ${number}` });
    await remover.sync();
  };
  if (removerFirst) await year();
  await away.sync();
  if (!removerFirst) await year();
  await stage.settle([remover, away]);
  const records = await stage.records();
  const held = records.find(({ id }) => id === room);
  const views = await Promise.all([remover, away].map(({ storage }) => storage.get(room)));
  const seen = views.map((view) => ({
    removed: view.removed,
    conflicts: view.conflicts.map(({ facet, kind }) => `${facet} ${kind}`),
  }));
  return {
    removerFirst,
    child,
    ...toldOf(held),
    seen,
    childThere: records.some(({ id, removed }) => id === built && !removed),
    one: await stage.oneState([remover, away]),
  };
}

// 6

export async function oneBadAmongAThousand(stage, { count }) {
  const phone = await stage.phone();
  const floor = crypto.randomUUID();
  const rooms = [];
  await phone.storage.save([
    {
      record: floor,
      type: 'floor',
      facet: 'identity',
      value: { parent: stage.site, name: 'Ground' },
      seen: null,
    },
  ]);
  for (let number = 1; number < count; number++) {
    const room = crypto.randomUUID();
    rooms.push(room);
    // What no form lets through; a fault of ours would.
    const name = number === count / 2 ? 7 : `Room ${number}`;
    await phone.storage.save([
      { record: room, type: 'room', facet: 'identity', value: { parent: floor, name }, seen: null },
    ]);
  }
  await phone.sync();
  const bad = rooms[count / 2 - 1];
  const here = await phone.storage.refused();
  await phone.storage.close();
  // An update: the same database opened by an app with a newer spec.
  const updated = await stage.phone({ database: phone.database, spec: 2 });
  await updated.sync();
  const after = await updated.storage.refused();
  const there = new Set((await stage.records()).map(({ id }) => id));
  const arrived = rooms.filter((id) => there.has(id)).length + 1;
  const view = await updated.storage.get(bad);
  await updated.storage.retryRefused(after[0].id, { parent: floor, name: 'Room put right' });
  await updated.sync();
  const corrected = (await stage.records()).find(({ id }) => id === bad)?.facets.identity.value.name;
  return {
    arrived,
    here: here.map(({ code, facts, record }) => ({ code, facts, bad: record === bad })),
    after: after.length,
    shown: view.refused.identity,
    corrected,
    left: await stage.left(updated),
  };
}

// 7

export async function readerAmongWriters(stage, { writers, each }) {
  const reader = await stage.phone({ who: 1 });
  const { floor } = await reader.room('Plant');
  await reader.sync();
  const full = [];
  const { needAll, pulled } = reader.storage;
  reader.storage.needAll = (why) => full.push(why) && needAll(why);
  const seqs = [];
  reader.storage.pulled = (page) => {
    seqs.push(...page.records.map(({ seq }) => seq));
    return pulled(page);
  };
  const phones = await Promise.all(Array.from({ length: writers }, () => stage.phone()));
  await Promise.all(phones.map((phone) => phone.sync()));
  let writing = writers;
  const write = async (phone, name) => {
    for (let number = 0; number < each; number++) {
      await phone.set(crypto.randomUUID(), 'room', 'identity', {
        parent: floor,
        name: `Room ${name}.${number}`,
      });
      await stage.trySync(phone);
    }
    writing -= 1;
  };
  let pulls = 0;
  const read = async () => {
    while (writing > 0) {
      await stage.trySync(reader);
      pulls += 1;
    }
  };
  await Promise.all([read(), ...phones.map(write)]);
  await reader.sync();
  const rooms = (await reader.storage.all('room')).filter(({ facets }) =>
    facets.identity.name?.startsWith('Room '),
  ).length;
  return {
    rooms,
    pulls,
    full,
    inOrder: seqs.every((seq, at) => at === 0 || seq > seqs[at - 1]),
    mismatch: (await reader.storage.syncState()).mismatch,
    one: await stage.oneState([reader]),
  };
}

// 8

/** A database of the first released version, as its code left it, opened by today's. */
export async function oldOutbox(stage, { file, site, person }) {
  const text = gunzipSync(readFileSync(file))
    .toString()
    .replaceAll(site, stage.site)
    .replaceAll(person, stage.people[0].person);
  const kept = JSON.parse(text);
  const database = `old-${crypto.randomUUID()}`;
  await asItWas(database, kept);
  const phone = await stage.phone({ database });
  const before = await stage.left(phone);
  const operations = (await phone.storage.waiting()).map(({ op }) => op);
  await phone.sync();
  await phone.sync();
  const refused = await phone.storage.refused();
  return {
    before,
    after: await stage.left(phone),
    ids: operations.map(({ id }) => id),
    refused: refused.slice(0, 5),
    one: await stage.oneState(),
    photos: kept.photos.map(({ value }) => value.sha256),
  };
}

/** Make the stores of a kept database and fill them, without any code of ours. */
function asItWas(name, { version, stores, ...rows }) {
  return new Promise((done, failed) => {
    const opening = indexedDB.open(name, version);
    opening.onerror = () => failed(opening.error);
    opening.onupgradeneeded = () => {
      for (const { store, keyPath, autoIncrement, indexes } of stores) {
        const made = opening.result.createObjectStore(store, { keyPath, autoIncrement });
        for (const each of indexes)
          made.createIndex(each.name, each.keyPath, { unique: each.unique, multiEntry: each.multiEntry });
        for (const { key, value } of rows[store])
          made.put(value.base64 ? bufferOf(value.base64) : value, keyPath === null ? key : undefined);
      }
    };
    opening.onsuccess = () => {
      opening.result.close();
      done(undefined);
    };
  });
}

const bufferOf = (text) => Uint8Array.from(Buffer.from(text, 'base64')).buffer;

// 9

export async function sessionAndRightsChange(stage) {
  const name = stage.people[0].name;
  const phone = await stage.phone();
  // A phone of its own: the others of this person have theirs.
  phone.cookie = await stage.office.signIn(name);
  const { floor, room } = await phone.room('Plant');
  await phone.sync();
  const told = {};
  // The session ends between two batches of one queue.
  for (let number = 0; number < 1200; number += 100)
    await phone.storage.save(
      Array.from({ length: 100 }, (_, at) => ({
        record: crypto.randomUUID(),
        type: 'room',
        facet: 'identity',
        value: { parent: floor, name: `Room ${number + at}` },
        seen: null,
      })),
    );
  const from = phone.requests;
  phone.fault = async (at) => {
    if (at === from + 1) await stage.office.signOut(phone.cookie);
    return null;
  };
  told.stopped = await stage.trySync(phone);
  told.left = await stage.left(phone);
  await phone.set(room, 'room', 'hours', { hours_year: 5 });
  told.savedWithoutSession = (await phone.storage.get(room)).facets.hours;
  // Another person works on the same phone meanwhile.
  const other = await stage.phone({ who: 1 });
  await other.sync();
  await other.set(room, 'room', 'ceiling', { note: 'by another' });
  await other.sync();
  told.leftOfTheFirst = (await stage.left(phone)).operations;
  phone.fault = () => null;
  phone.cookie = await stage.office.signIn(name, phone.cookie);
  await phone.sync();
  told.afterSigningIn = await stage.left(phone);
  // The role goes while work waits: visible; it comes back: it arrives.
  await phone.set(room, 'room', 'hours', { hours_year: 6 });
  await stage.office.setRole(name, 'crew');
  await phone.sync();
  told.asCrew = (await phone.storage.refused()).map(({ code }) => code);
  await stage.office.setRole(name, 'surveyor');
  for (const { id } of await phone.storage.refused()) await phone.storage.retryRefused(id, null);
  await phone.sync();
  told.roleBack = (await stage.records()).find(({ id }) => id === room).facets.hours.value.hours_year;
  // Off the site: held for a manager, who lets it in.
  await phone.set(room, 'room', 'hours', { hours_year: 7 });
  await stage.office.setRole(name, null);
  told.offTheSite = await stage.trySync(phone);
  told.held = (await phone.storage.refused()).map(({ code }) => code);
  const held = await stage.office.held();
  await stage.office.settleHeld(
    held.map(({ id }) => id),
    [],
  );
  told.letIn = (await stage.records()).find(({ id }) => id === room).facets.hours.value.hours_year;
  await stage.office.setRole(name, 'surveyor');
  await stage.settle([phone, other]);
  told.rooms = (await stage.records()).filter(({ type }) => type === 'room').length;
  told.one = await stage.oneState([phone, other]);
  told.conflicts = (await stage.records()).flatMap(({ conflicts }) => conflicts).length;
  return told;
}

// 10

export async function copiedPhone(stage) {
  const first = await stage.phone();
  const place = await newPlace(stage, first);
  await first.sync();
  await first.set(place.room, 'room', 'hours', { hours_year: 1 });
  const second = await stage.phone();
  await copyDatabase(first.storage, second.storage);
  const device = (await first.storage.phone()).device;
  const ledger = [{ record: place.room, facet: 'hours', value: { hours_year: 1 } }];
  for (const [phone, name] of [
    [first, 'first'],
    [second, 'second'],
  ]) {
    const value = { note: name };
    await phone.set(place.room, 'room', 'ceiling', value);
    ledger.push({ record: place.room, facet: 'ceiling', value });
    const floor = crypto.randomUUID();
    await phone.set(floor, 'floor', 'identity', { parent: stage.site, name });
    ledger.push({ record: floor, facet: 'identity', value: { parent: stage.site, name } });
  }
  await stage.settle();
  const devices = await Promise.all(
    [first, second].map(async ({ storage }) => (await storage.phone()).device),
  );
  return {
    ledger,
    forked: devices.filter((each) => each !== device).length,
    left: [await stage.left(first), await stage.left(second)],
    room: toldOf((await stage.records()).find(({ id }) => id === place.room)),
    one: await stage.oneState(),
  };
}

async function copyDatabase(from, to) {
  for (const name of STORES) {
    const [keys, values] = await from.run([name], 'readonly', async (tx) => [
      await tx.objectStore(name).getAllKeys(),
      await tx.objectStore(name).getAll(),
    ]);
    await to.run([name], 'readwrite', async (tx) => {
      const store = tx.objectStore(name);
      await store.clear();
      for (const [at, value] of values.entries())
        await (store.keyPath === null ? store.put(value, keys[at]) : store.put(value));
    });
  }
}

// 11

/** Two tabs over one database that sync at once, with no lock between them: the worst that a browser could do. */
export async function twoTabsAtOnce(stage, { rounds }) {
  const first = await stage.phone();
  const second = await stage.phone({ database: first.database });
  const place = await newPlace(stage, first);
  const ledger = [];
  for (let round = 0; round < rounds; round++) {
    for (const [tab, phone] of [first, second].entries()) {
      const floor = crypto.randomUUID();
      const value = { parent: stage.site, name: `Floor ${round} of tab ${tab}` };
      await phone.set(floor, 'floor', 'identity', value);
      ledger.push({ record: floor, facet: 'identity', value });
    }
    await Promise.all([stage.trySync(first), stage.trySync(second)]);
  }
  await stage.settle();
  const conflicts = (await stage.records()).flatMap((record) => record.conflicts).length;
  return { ledger, conflicts, left: await stage.left(first), one: await stage.oneState(), room: place.room };
}

// 13

/** A photo's request or answer breaks at each of many bytes; its record has arrived before it. */
export async function photoCutAtManyBytes(stage, { shares }) {
  const phone = await stage.phone();
  const { room } = await phone.room('Plant');
  await phone.sync();
  const runs = [];
  for (const fault of ['request-cut', 'cut', 'answer-lost', 'lost'])
    for (const share of shares) {
      const photo = await stage.takePhoto(phone, room);
      phone.fault = (_number, address) => (address.includes('/photos/') ? [fault, share] : null);
      const stopped = await stage.trySync(phone);
      const recordThere = (await stage.records()).some(({ id }) => id === photo.record);
      const kept = (await phone.storage.photoBytes(photo.sha256))?.byteLength === photo.value.bytes;
      const { half } = await stage.ask({ ask: 'half photos' });
      phone.fault = () => null;
      await phone.sync();
      await phone.sync();
      const left = await stage.left(phone);
      runs.push({
        fault,
        share,
        stopped,
        recordThere,
        kept,
        half,
        sha256: photo.sha256,
        left,
        dropped: !(await phone.storage.photoBytes(photo.sha256)),
      });
    }
  return runs;
}

// 14

/** The server is set back to a backup: what phones were told was applied comes back, whoever comes first. */
export async function setBack(stage) {
  const phones = [await stage.phone({ who: 0 }), await stage.phone({ who: 1 })];
  const [a, b] = phones;
  const { room, floor } = await a.room('Plant');
  await stage.settle();
  const early = await stage.takePhoto(a, room);
  await stage.settle();
  await stage.ask({ ask: 'backup' });
  const ledger = [];
  const set = async (phone, record, type, facet, value) => {
    await phone.set(record, type, facet, value);
    ledger.push({ record, facet, value });
  };
  const newer = crypto.randomUUID();
  await set(a, newer, 'room', 'identity', { parent: floor, name: 'Since the backup' });
  const late = await stage.takePhoto(a, newer);
  ledger.push({ record: late.record, facet: 'identity', value: late.value });
  await a.sync();
  await a.sync();
  await b.sync();
  await set(b, newer, 'room', 'hours', { hours_year: 12 });
  await set(b, room, 'room', 'ceiling', { note: 'by b' });
  await b.sync();
  await set(a, room, 'room', 'hours', { hours_year: 34 });
  const told = { dropped: !(await a.storage.photoBytes(late.sha256)) };
  await stage.ask({ ask: 'restore' });
  stage.office.cookie = await stage.office.signIn('owner'); // nobody is signed in after it
  told.gone = !(await stage.records()).some(({ id }) => id === newer);
  for (const phone of phones) phone.cookie = await stage.office.signIn(stage.people[phone.who].name, phone.cookie);
  await b.sync();
  await a.sync();
  await stage.settle();
  told.photos = [await stage.office.hasPhoto(early.sha256), await stage.office.hasPhoto(late.sha256)];
  told.left = await Promise.all(phones.map((phone) => stage.left(phone)));
  told.recovered = await Promise.all(phones.map(async ({ storage }) => (await storage.recovered()).length));
  return {
    ...told,
    ledger,
    conflicts: (await stage.records()).flatMap(({ conflicts }) => conflicts).length,
    one: await stage.oneState(),
  };
}
