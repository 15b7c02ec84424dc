// A large site costs no more than a small one: what a room's screen and a save read of the phone's database is counted, not timed.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { newPhone, POINTERS, SITE } from './support/phone.js';
import { emptyRecord, reindex } from '../../pwa/storage/records.js';
import { findGroup } from '../../pwa/views/measuring/judged_group.js';
import { groupsOf } from '../../pwa/views/surveying/survey.js';
import { readWalk } from '../../pwa/views/surveying/walk.js';

const GROUPS = 20_000;
const IN_A_ROOM = 20;
/** Rooms with groups of one kind: readings are pooled over all groups of a kind, so these belong to a group's screen. */
const ROOMS_OF_A_KIND = 2;
const OF_A_KIND = ROOMS_OF_A_KIND * IN_A_ROOM;
const BY = { op: 'server.0badcafe.1', seq: 1, by: 'someone', at: '2026-01-01T00:00:00Z' };

let rowsRead = 0;
let keysRead = 0;
const allKeys = IDBObjectStore.prototype.getAllKeys;
IDBObjectStore.prototype.getAllKeys = function (...how) {
  const request = allKeys.apply(this, how);
  request.addEventListener('success', () => {
    keysRead += request.result.length;
  });
  return request;
};
for (const store of [IDBObjectStore, IDBIndex]) {
  for (const verb of ['get', 'getAll', 'openCursor']) {
    const asked = store.prototype[verb];
    store.prototype[verb] = function (...how) {
      const request = asked.apply(this, how);
      request.addEventListener('success', () => {
        rowsRead += Array.isArray(request.result) ? request.result.length : Number(request.result != null);
      });
      return request;
    };
  }
}

/** @param {() => Promise<unknown>} work */
async function counted(work) {
  const before = rowsRead;
  await work();
  return rowsRead - before;
}

/** A record as the server told it. */
function told(type, value) {
  const record = emptyRecord(crypto.randomUUID(), type);
  record.facets.identity = { ...BY, value };
  reindex(record, POINTERS);
  return record;
}

async function phoneWith(groups) {
  const phone = await newPhone({ fetch: () => Promise.reject(new TypeError('no network')) });
  const floor = told('floor', { parent: SITE, name: 'Ground' });
  const rooms = Array.from({ length: groups / IN_A_ROOM }, () =>
    told('room', { parent: floor.id, name: 'Room' }),
  );
  const kinds = Array.from({ length: rooms.length / ROOMS_OF_A_KIND }, () =>
    told('kind', { parent: SITE, mark: 'K1' }),
  );
  const all = rooms.flatMap((room, place) => {
    const kind = kinds[Math.floor(place / ROOMS_OF_A_KIND)].id;
    return Array.from({ length: IN_A_ROOM }, () => told('group', { parent: room.id, kind }));
  });
  const readings = all.map((group) =>
    told('cavity_reading', { parent: group.id, position: 1, row: 1, cavity: 1, length_ticks: 384_000 }),
  );
  await phone.storage.run(['records', 'summaries'], 'readwrite', async (tx) => {
    for (const record of [floor, ...kinds, ...rooms, ...all, ...readings])
      tx.objectStore('records').put(record);
    for (const { id } of rooms) {
      const none = { fixtures: 0, unsent: 0, conflicts: 0, photos_unsent: 0 };
      tx.objectStore('summaries').put({ room: id, floor: floor.id, groups: IN_A_ROOM, ...none });
    }
  });
  const middle = Math.floor(all.length / 2);
  const { id: group, parent: room } = all[middle];
  return { phone, group, room, kind: all[middle].facets.identity.value.kind };
}

/** Rows read by the screens of a room, of one of its groups (the tape pad's are the same) and of the walk, and by saves. */
async function readOf(groups) {
  const { phone, group, room, kind } = await phoneWith(groups);
  const { storage } = phone;
  const opening = await counted(async () => {
    const { parent } = await storage.get(room);
    await Promise.all([storage.get(parent), groupsOf(storage, room)]);
  });
  const value = { parent: room, kind };
  const saving = await counted(() =>
    phone.save({ record: crypto.randomUUID(), type: 'group', facet: 'identity', value, seen: null }),
  );
  const site = Object.assign(storage, { id: SITE });
  const judging = await counted(async () => assert.equal((await findGroup(site, group)).readings.length, 1));
  const reading = { parent: group, position: 2, row: 1, cavity: 1, length_ticks: 384_000 };
  const savingReading = await counted(() =>
    phone.save({
      record: crypto.randomUUID(),
      type: 'cavity_reading',
      facet: 'identity',
      value: reading,
      seen: null,
    }),
  );
  const counting = await counted(() => storage.rooms.bringUp());
  const walking = await counted(() => readWalk(storage));
  return { opening, saving, judging, savingReading, counting, walking };
}

test('a site of 20,000 groups opens a room or a group, and takes a save, without being read', async () => {
  const large = await readOf(GROUPS);
  const { walking, ...small } = large;
  assert.ok(small.opening >= IN_A_ROOM, 'the counting counts');
  assert.ok(
    small.opening <= 2 * IN_A_ROOM + 2,
    `${small.opening} rows to open a room of ${IN_A_ROOM} groups`,
  );
  assert.ok(small.saving <= 4, `${small.saving} rows to save a group`);
  assert.ok(small.judging >= 2 * OF_A_KIND, 'groups of the kind and their readings are pooled');
  assert.ok(
    small.judging <= 2 * OF_A_KIND + 10,
    `${small.judging} rows to judge a group of a kind of ${OF_A_KIND}`,
  );
  assert.ok(small.savingReading <= 4, `${small.savingReading} rows to save a reading`);
  assert.ok(
    small.counting >= 1 && small.counting <= 6,
    `${small.counting} rows to bring the room's row up to both saves`,
  );
  const rooms = GROUPS / IN_A_ROOM;
  assert.ok(walking >= 2 * rooms && walking <= 2 * rooms + 2, `${walking} rows for a walk of ${rooms} rooms`);
  const { walking: _, ...again } = await readOf(OF_A_KIND);
  assert.deepEqual(small, again, 'the site is larger, what is read is the same');
});

/** Pages of a hundred records as the server tells them, a room and its groups; `named`: ids of some by their place. */
function pagesOf() {
  const room = crypto.randomUUID();
  const state = (id, type, value, seq) => ({
    id,
    type,
    seq,
    removed: false,
    facets: { identity: { ...BY, op: `server.0badcafe.${seq}`, seq, value } },
    conflicts: [],
  });
  const page = (number, more, named = []) => ({
    incarnation: 'one',
    scope: 'all',
    head: 400,
    next: (number + 1) * 100,
    more,
    backed_up: 0,
    records: Array.from({ length: 100 }, (_, place) => {
      const seq = number * 100 + place + 1;
      if (seq === 1) return state(room, 'room', { parent: SITE, name: 'Hall' }, seq);
      return state(named[place] ?? crypto.randomUUID(), 'group', { parent: room, kind: 'k1' }, seq);
    }),
  });
  return { room, page };
}

test('while the first sync goes on the rooms are counted now and then, not after each page', async (t) => {
  const { storage } = await newPhone({ fetch: () => Promise.reject(new TypeError('no network')) });
  let clock = 0;
  t.mock.method(performance, 'now', () => {
    clock += 1;
    return clock;
  });
  const { room, page } = pagesOf();
  const taken = async (number, more) => {
    await storage.pulled(page(number, more));
    return counted(() => storage.bringRowsUp());
  };
  assert.ok((await taken(0, true)) >= 100);
  assert.ok((await taken(1, true)) < 10);
  clock += 1000;
  assert.ok((await taken(2, true)) >= 300);
  assert.ok((await taken(3, false)) >= 400);
  const [row] = await storage.summaries();
  assert.deepEqual([row.room, row.groups], [room, 399]);
});

test('of the pages of a first sync only the first asks which records are on the phone, and none is read again for the sum', async () => {
  const { storage } = await newPhone({ fetch: () => Promise.reject(new TypeError('no network')) });
  const { page } = pagesOf();
  await storage.pulled(page(0, true));
  const [keys, rows] = [keysRead, rowsRead];
  for (const number of [1, 2, 3]) await storage.pulled(page(number, number < 3));
  assert.equal(keysRead - keys, 0);
  assert.ok(rowsRead - rows < 40, `${rowsRead - rows} rows read for three pages of 100`);
  const kept = await storage.sums();
  assert.deepEqual(kept, await storage.recountSums());
  assert.equal(kept.count, 400);
});

test('what is saved between two pages of a first sync is found when it comes, and stays as it was saved', async () => {
  const phone = await newPhone({ fetch: () => Promise.reject(new TypeError('no network')) });
  const { room, page } = pagesOf();
  await phone.storage.pulled(page(0, true));
  await phone.storage.pulled(page(1, true));
  const record = crypto.randomUUID();
  const value = { parent: room, kind: 'k2' };
  await phone.save({ record, type: 'group', facet: 'identity', value, seen: null });
  await phone.storage.pulled(page(2, true, [record]));
  const stored = await phone.storage.get(record);
  assert.deepEqual([stored.facets.identity.kind, stored.mine.identity], ['k2', true]);
  await phone.storage.pulled(page(3, false));
  assert.deepEqual(await phone.storage.sums(), await phone.storage.recountSums());
});
