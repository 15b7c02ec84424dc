// A large site costs no more than a small one: what a room's screen and a save read of the phone's database is counted, not timed.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { newPhone, POINTERS, SITE } from './support/phone.js';
import { emptyRecord, reindex } from '../../pwa/storage/records.js';
import { groupsOf } from '../../pwa/views/survey.js';

const GROUPS = 20_000;
const IN_A_ROOM = 20;
const BY = { op: 'server.0badcafe.1', seq: 1, by: 'someone', at: '2026-01-01T00:00:00Z' };

let rowsRead = 0;
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
  const kind = told('kind', { parent: SITE, mark: 'K1' });
  const rooms = Array.from({ length: groups / IN_A_ROOM }, () => told('room', { parent: floor.id, name: 'Room' }));
  const all = rooms.flatMap((room) =>
    Array.from({ length: IN_A_ROOM }, () => told('group', { parent: room.id, kind: kind.id })),
  );
  await phone.storage.run(['records', 'summaries'], 'readwrite', async (tx) => {
    for (const record of [floor, kind, ...rooms, ...all]) tx.objectStore('records').put(record);
    for (const { id } of rooms) {
      const none = { fixtures: 0, unsent: 0, conflicts: 0, photos_unsent: 0 };
      tx.objectStore('summaries').put({ room: id, floor: floor.id, groups: IN_A_ROOM, ...none });
    }
  });
  return { phone, room: rooms[Math.floor(rooms.length / 2)].id, kind: kind.id };
}

/** What a room's screen asks for, and what a save of one more group reads. */
async function readOf(groups) {
  const { phone, room, kind } = await phoneWith(groups);
  const { storage } = phone;
  const opening = await counted(async () => {
    const { parent } = await storage.get(room);
    await Promise.all([storage.get(parent), groupsOf(storage, room)]);
  });
  const value = { parent: room, kind };
  const saving = await counted(() =>
    phone.save({ record: crypto.randomUUID(), type: 'group', facet: 'identity', value, seen: null }),
  );
  return { opening, saving };
}

test('a room of a site of 20,000 groups opens, and a group is saved in it, without reading the site', async () => {
  const large = await readOf(GROUPS);
  assert.ok(large.opening >= IN_A_ROOM, 'the counting counts');
  assert.ok(large.opening <= 2 * IN_A_ROOM + 2, `${large.opening} rows to open a room of ${IN_A_ROOM} groups`);
  assert.ok(large.saving <= 4, `${large.saving} rows to save a group`);
  assert.deepEqual(large, await readOf(IN_A_ROOM));
});
