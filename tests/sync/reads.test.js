// What screens have read is kept, and kept right: who asks again asks no disk, and what is written is in the next answer.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { FakeServer } from './support/fake_server.js';
import { dice } from './support/history.js';
import { newPhone, SITE } from './support/phone.js';
import { Reads } from '../../pwa/store/reads.js';

let [rowsRead, transactions] = [0, 0];
for (const store of [IDBObjectStore, IDBIndex])
  for (const verb of ['get', 'getAll']) {
    const asked = store.prototype[verb];
    store.prototype[verb] = function (...how) {
      const request = asked.apply(this, how);
      request.addEventListener('success', () => {
        if (this.name === 'records' || this.objectStore?.name === 'records')
          rowsRead += Array.isArray(request.result) ? request.result.length : Number(request.result != null);
      });
      return request;
    };
  }
const begin = IDBDatabase.prototype.transaction;
IDBDatabase.prototype.transaction = function (...how) {
  transactions += 1;
  return begin.apply(this, how);
};

/** @param {() => Promise<unknown>} work */
async function counted(work) {
  const before = [rowsRead, transactions];
  await work();
  return { rows: rowsRead - before[0], transactions: transactions - before[1] };
}

/** A phone with a floor of rooms, and what its screens have read. */
async function phoneWithReads(server = new FakeServer()) {
  const phone = await newPhone(server);
  const { floor, room } = await phone.room('Bottling');
  const reads = new Reads(phone.storage);
  phone.storage.onWritten = (writing) => reads.take(writing);
  return { phone, reads, floor, room };
}

const names = (records) => records.map(({ facets }) => facets.identity.name);

test('what was read once is not read again', async () => {
  const { reads, floor } = await phoneWithReads();
  const rooms = () => reads.answer({ of: 'below', id: floor, type: 'room' });
  assert.deepEqual(names(await rooms()), ['Bottling']);
  assert.deepEqual((await counted(rooms)).rows, 0);
});

test('a record of a list that was read is not read again by its id, also once it is written to, and is gone when it is', async () => {
  const { phone, reads, floor, room } = await phoneWithReads();
  await reads.answer({ of: 'below', id: floor, type: 'room' });
  const byId = async () => (await reads.answer({ of: 'id', id: room }))[0];
  assert.deepEqual(await counted(byId), { rows: 0, transactions: 0 });
  reads.kept.delete(`id  ${room}`);
  await phone.set(room, 'room', 'progress', { progress: 'surveyed' });
  const { rows } = await counted(async () =>
    assert.deepEqual((await byId()).facets.progress, { progress: 'surveyed' }),
  );
  assert.equal(rows, 0);
  reads.kept.delete(`id  ${room}`);
  await phone.storage.remove(room);
  assert.equal((await byId()).removed, true);
  assert.deepEqual(names(await reads.answer({ of: 'below', id: floor, type: 'room' })), []);
});

test('what is not in a list that is held is asked in one transaction with its neighbours', async () => {
  const { reads, floor, room } = await phoneWithReads();
  const asked = await counted(() =>
    Promise.all([
      reads.answer({ of: 'below', id: floor, type: 'room' }),
      reads.answer({ of: 'id', id: room }),
      reads.answer({ of: 'id', id: floor }),
    ]),
  );
  assert.equal(asked.transactions, 1);
});

test('a hundred questions asked in one go are one transaction', async () => {
  const { reads, floor } = await phoneWithReads();
  const asked = await counted(() =>
    Promise.all(Array.from({ length: 100 }, (_, n) => reads.answer({ of: 'below', id: `${floor}${n}` }))),
  );
  assert.equal(asked.transactions, 1);
});

test('a save is in the next answer to every question that it concerns, and no record is read for that', async () => {
  const { phone, reads, floor, room } = await phoneWithReads();
  const questions = [
    { of: 'id', id: room },
    { of: 'below', id: floor, type: 'room' },
    { of: 'below', id: floor },
    { of: 'type', type: 'room' },
  ];
  const ask = () => Promise.all(questions.map((each) => reads.answer(each)));
  await ask();
  await phone.set(room, 'room', 'progress', { progress: 'surveyed' });
  const { rows } = await counted(async () => {
    for (const [record] of await ask()) assert.deepEqual(record.facets.progress, { progress: 'surveyed' });
  });
  assert.equal(rows, 0);
});

test('a room that is made stands among the others, in the order in which they would be read', async () => {
  const { phone, reads, floor } = await phoneWithReads();
  const rooms = () => reads.answer({ of: 'below', id: floor, type: 'room' });
  await rooms();
  for (const name of ['Cooperage', 'Malting', 'Office']) {
    const value = { parent: floor, name };
    await phone.save({ record: crypto.randomUUID(), type: 'room', facet: 'identity', value, seen: null });
  }
  assert.deepEqual(names(await rooms()), names(await phone.storage.children(floor, 'room')));
  assert.equal((await rooms()).length, 4);
});

test('a room that is removed leaves the lists, and is told to be removed where it is asked for', async () => {
  const { phone, reads, floor, room } = await phoneWithReads();
  const rooms = () => reads.answer({ of: 'below', id: floor, type: 'room' });
  await rooms();
  await reads.answer({ of: 'id', id: room });
  await phone.storage.remove(room);
  assert.deepEqual(await rooms(), []);
  assert.equal((await reads.answer({ of: 'id', id: room }))[0].removed, true);
});

test('what a sync brings is in the next answer', async () => {
  const server = new FakeServer();
  const { phone, reads, room } = await phoneWithReads(server);
  await phone.sync();
  const other = await newPhone(server, { person: '00000000-0000-4000-8000-00000000000b' });
  await other.sync();
  await reads.answer({ of: 'id', id: room });
  await other.set(room, 'room', 'progress', { progress: 'surveyed' });
  await other.sync();
  await phone.sync();
  assert.deepEqual((await reads.answer({ of: 'id', id: room }))[0].facets.progress, { progress: 'surveyed' });
});

test('a read that was on its way while something was saved does not hide it', async () => {
  const { phone, reads, floor, room } = await phoneWithReads();
  const reading = reads.answer({ of: 'below', id: floor, type: 'room' });
  await phone.set(room, 'room', 'progress', { progress: 'surveyed' });
  await reading;
  const [now] = await reads.answer({ of: 'below', id: floor, type: 'room' });
  assert.deepEqual(now.facets.progress, { progress: 'surveyed' });
});

test("who changes a list that was handed out changes nobody else's", async () => {
  const { reads, floor } = await phoneWithReads();
  const rooms = () => reads.answer({ of: 'below', id: floor, type: 'room' });
  (await rooms()).pop();
  assert.equal((await rooms()).length, 1);
});

test("the rooms' rows are read once, and follow what is saved", async () => {
  const { phone, reads, room } = await phoneWithReads();
  await reads.summaries();
  const value = { parent: room, kind: SITE };
  const record = crypto.randomUUID();
  await phone.save({ record, type: 'group', facet: 'identity', value, seen: null });
  const rows = await reads.summaries();
  assert.equal(rows.find((row) => row.room === room).groups, 1);
  assert.deepEqual(rows, await phone.storage.summaries());
});

test('photos of a kind are found without reading the groups that refer to it too', async () => {
  const { phone, reads, room } = await phoneWithReads();
  const kind = crypto.randomUUID();
  const make = (type, value) =>
    phone.save({ record: crypto.randomUUID(), type, facet: 'identity', value, seen: null });
  for (let n = 0; n < 20; n++) await make('group', { parent: room, kind });
  await make('photo', { parent: SITE, subject: kind, purpose: 'kind', sha256: 'a' });
  const { rows } = await counted(async () =>
    assert.equal((await reads.answer({ of: 'refs', id: kind, type: 'photo' })).length, 1),
  );
  assert.equal(rows, 1);
});

/** Saves that make, move, relabel, remove and bring back records, one of them, as the die falls. */
function someSave(phone, die, { floors, rooms, kinds, groups, labels }) {
  const [room, group, label] = [die.pick(rooms), die.pick(groups), die.pick(labels)];
  return [
    () => phone.set(room, 'room', 'identity', { parent: die.pick(floors), name: `Room ${die.below(9)}` }),
    () => phone.set(group, 'group', 'identity', { parent: die.pick(rooms), kind: die.pick(kinds) }),
    () => phone.set(label, 'label', 'identity', { parent: SITE, code: `CODE${die.below(3)}` }),
    () => phone.set(label, 'label', 'binding', { group: die.pick(groups) }),
    () => phone.storage.remove(group),
    () => phone.storage.restore(group),
  ][die.below(6)]();
}

test('whatever is saved, every answer that is kept is the one that would be read', async () => {
  for (let seed = 1; seed <= 6; seed++) {
    const die = dice(seed);
    const { phone, reads } = await phoneWithReads();
    const ids = (count) => Array.from({ length: count }, () => crypto.randomUUID());
    const some = { floors: ids(2), rooms: ids(3), kinds: ids(2), groups: ids(4), labels: ids(2) };
    for (const floor of some.floors)
      await phone.set(floor, 'floor', 'identity', { parent: SITE, name: 'Floor' });
    const questions = [
      ...Object.values(some)
        .flat()
        .map((id) => ({ of: 'id', id })),
      ...['room', 'group', 'label'].map((type) => ({ of: 'type', type })),
      ...some.floors.flatMap((id) => [
        { of: 'below', id },
        { of: 'below', id, type: 'room' },
      ]),
      ...some.rooms.flatMap((id) => [
        { of: 'below', id },
        { of: 'below', id, type: 'group' },
      ]),
      ...[...some.kinds, ...some.groups].flatMap((id) => [
        { of: 'refs', id },
        { of: 'refs', id, type: 'group' },
      ]),
      ...[0, 1, 2].map((n) => ({ of: 'lookup', id: `CODE${n}`, type: 'label' })),
    ];
    const answers = (from) => Promise.all(questions.map((question) => from.answer(question)));
    await answers(reads);
    for (let save = 0; save < 40; save++) {
      try {
        await someSave(phone, die, some);
      } catch {
        continue; // what is not there yet is not removed
      }
      const kept = await counted(async () => {
        assert.deepEqual(
          await answers(reads),
          await answers(new Reads(phone.storage)),
          `seed ${seed}, save ${save}`,
        );
      });
      assert.equal(kept.transactions, 1, 'what is kept is not read');
    }
  }
});

test('a save looks at none of the thousands of answers that it does not concern', async () => {
  const { phone, reads, floor, room } = await phoneWithReads();
  const others = Array.from({ length: 50 }, (_, n) => ({ of: 'below', id: `elsewhere ${n}` }));
  await Promise.all([...others, { of: 'below', id: floor }].map((each) => reads.answer(each)));
  const before = [...reads.kept.values()].map(({ answer }) => answer);
  await phone.set(room, 'room', 'progress', { progress: 'surveyed' });
  const after = [...reads.kept.values()].map(({ answer }) => answer);
  assert.equal(after.filter((answer, place) => answer !== before[place]).length, 1);
});
