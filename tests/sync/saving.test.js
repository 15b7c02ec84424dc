// One save: what it writes, what it shows, when the newest operation may be rewritten, and how it is taken back.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { FakeServer } from './support/fake_server.js';
import { newPhone, SITE } from './support/phone.js';

const ops = async (phone) => (await phone.storage.waiting()).map(({ op }) => op);

async function phoneWithRoom() {
  const server = new FakeServer();
  const phone = await newPhone(server);
  const { floor, room } = await phone.room();
  await phone.sync();
  return { server, phone, floor, room };
}

test('a save is one operation for each facet, and shown at once as mine', async () => {
  const { phone, room } = await phoneWithRoom();
  const group = crypto.randomUUID();
  await phone.save(
    { record: group, type: 'group', facet: 'identity', value: { parent: room }, seen: null },
    { record: group, type: 'group', facet: 'count', value: { count: 12 }, seen: null },
  );
  const view = await phone.storage.get(group);
  const waiting = await ops(phone);
  assert.deepEqual(
    waiting.map((op) => [op.facet, op.kind, op.seen, op.from]),
    [
      ['identity', 'set', null, null],
      ['count', 'set', null, null],
    ],
  );
  assert.deepEqual(view.facets, { identity: { parent: room }, count: { count: 12 } });
  assert.deepEqual(view.mine, { identity: true, count: true });
  assert.equal(view.seen.count, waiting[1].id);
  assert.equal(view.parent, room);
});

test('ids are device, epoch and a counter that only grows', async () => {
  const { phone, room } = await phoneWithRoom();
  await phone.set(room, 'room', 'identity', { parent: SITE, name: 'Boiler house' });
  await phone.set(room, 'room', 'progress', { progress: 'open' });
  const { device, epoch } = await phone.storage.phone();
  assert.deepEqual(
    (await ops(phone)).map((op) => op.id),
    [`${device}.${epoch}.3`, `${device}.${epoch}.4`],
  );
});

test('an unsent edit of what the form showed is rewritten under a new id, with the first seen and from', async () => {
  const { phone, floor, room } = await phoneWithRoom();
  const before = (await phone.storage.get(room)).seen.identity;
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  const [first] = await ops(phone);
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press room' });
  const [second, ...more] = await ops(phone);
  assert.deepEqual(more, []);
  assert.notEqual(second.id, first.id);
  assert.equal(second.seen, before);
  assert.deepEqual(second.from, { parent: floor, name: 'Bottling' });
  assert.deepEqual(second.to, { parent: floor, name: 'Press room' });
});

test('what was in a request is never rewritten, even if its answer was lost', async () => {
  const { server, phone, floor, room } = await phoneWithRoom();
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  server.faults = ['answer-lost'];
  await assert.rejects(phone.sync());
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press room' });
  const [first, second] = await ops(phone);
  assert.equal(second.seen, first.id);
  await phone.sync();
  assert.equal(server.conflicts(), 0);
  assert.equal(server.records.get(room).facets.identity.value.name, 'Press room');
});

test('what was saved to a file is never rewritten', async () => {
  const { phone, floor, room } = await phoneWithRoom();
  const { unsentFile } = await import('../../pwa/store/unsent_file.js');
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  const file = JSON.parse(await (await unsentFile(phone.storage)).text());
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press room' });
  assert.equal((await ops(phone)).length, 2);
  assert.deepEqual(file.operations, [(await ops(phone))[0]]);
});

test('another facet in between, another spec, a settlement or a form that showed something else: not rewritten', async () => {
  const { phone, floor, room } = await phoneWithRoom();
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  await phone.set(room, 'room', 'progress', { progress: 'open' });
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press room' });
  assert.equal((await ops(phone)).length, 3);
  phone.storage.spec += 1;
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press hall' });
  assert.equal((await ops(phone)).length, 4);
  const stale = {
    record: room,
    type: 'room',
    facet: 'identity',
    value: { parent: floor, name: 'Old form' },
    seen: null,
  };
  await phone.save(stale);
  assert.equal((await ops(phone)).length, 5);
  const seen = (await phone.storage.get(room)).seen.identity;
  await phone.save({ ...stale, value: { parent: floor, name: 'Settled' }, seen, settles: ['x.y.1'] });
  assert.equal((await ops(phone)).length, 6);
});

test('a form closed without a change writes nothing', async () => {
  const { phone, floor, room } = await phoneWithRoom();
  await phone.set(room, 'room', 'identity', { name: 'Bottling', parent: floor });
  assert.deepEqual(await ops(phone), []);
});

test('undo brings the former value back by a new operation, and again the one before it', async () => {
  const { server, phone, floor, room } = await phoneWithRoom();
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press room' });
  assert.equal(await phone.storage.undo(), true);
  assert.equal((await phone.storage.get(room)).facets.identity.name, 'Press');
  await phone.sync();
  assert.equal(await phone.storage.undo(), true);
  assert.equal((await phone.storage.get(room)).facets.identity.name, 'Bottling');
  await phone.sync();
  assert.equal(server.conflicts(), 0);
  assert.equal(server.records.get(room).facets.identity.value.name, 'Bottling');
});

test('undo of what made a record removes it; undo of a removal brings it and all below it back', async () => {
  const { server, phone, floor, room } = await phoneWithRoom();
  const group = crypto.randomUUID();
  await phone.save({ record: group, type: 'group', facet: 'identity', value: { parent: room }, seen: null });
  await phone.sync();
  await phone.storage.remove(floor);
  assert.deepEqual(
    (await ops(phone)).map((op) => [op.record, op.kind]),
    [
      [group, 'remove'],
      [room, 'remove'],
      [floor, 'remove'],
    ],
  );
  await phone.sync();
  assert.deepEqual(
    [floor, room, group].map((id) => server.records.get(id).removed),
    [true, true, true],
  );
  await phone.storage.undo();
  await phone.sync();
  assert.deepEqual(
    [floor, room, group].map((id) => server.records.get(id).removed),
    [false, false, false],
  );
  await phone.storage.undo();
  await phone.sync();
  assert.equal(server.records.get(group).removed, true);
  assert.equal(server.conflicts(), 0);
});

test('undo with nothing to take back says so', async () => {
  const phone = await newPhone(new FakeServer());
  assert.equal(await phone.storage.undo(), false);
});

test('a removal names what it saw of every facet', async () => {
  const { phone, room } = await phoneWithRoom();
  await phone.set(room, 'room', 'progress', { progress: 'open' });
  const { seen } = await phone.storage.get(room);
  await phone.storage.remove(room);
  assert.deepEqual((await ops(phone)).at(-1).seen, { identity: seen.identity, progress: seen.progress });
});

test('the row of a room counts its groups, fixtures, unsent facets and conflicts', async () => {
  const { phone, floor, room } = await phoneWithRoom();
  const group = crypto.randomUUID();
  await phone.save(
    { record: group, type: 'group', facet: 'identity', value: { parent: room }, seen: null },
    { record: group, type: 'group', facet: 'count', value: { count: 12 }, seen: null },
  );
  const reading = {
    record: crypto.randomUUID(),
    type: 'cavity_reading',
    facet: 'identity',
    value: { parent: group, position: 1 },
    seen: null,
  };
  await phone.save(reading);
  const wanted = { room, floor, groups: 1, fixtures: 12, unsent: 3, conflicts: 0, photos_unsent: 0 };
  assert.deepEqual(await phone.storage.summaries(), [wanted]);
  await phone.sync();
  assert.deepEqual(await phone.storage.summaries(), [{ ...wanted, unsent: 0 }]);
  await phone.storage.remove(group);
  assert.deepEqual(await phone.storage.summaries(), [{ ...wanted, groups: 0, fixtures: 0, unsent: 2 }]);
  await phone.storage.undo();
  assert.equal((await phone.storage.summaries())[0].fixtures, 12);
});

test('a group that moves takes what hangs below it along in the rows', async () => {
  const { phone, floor, room } = await phoneWithRoom();
  const [other, group] = [crypto.randomUUID(), crypto.randomUUID()];
  await phone.save(
    { record: other, type: 'room', facet: 'identity', value: { parent: floor }, seen: null },
    { record: group, type: 'group', facet: 'identity', value: { parent: room }, seen: null },
    {
      record: crypto.randomUUID(),
      type: 'cavity_reading',
      facet: 'identity',
      value: { parent: group },
      seen: null,
    },
  );
  await phone.set(group, 'group', 'identity', { parent: other });
  const rows = Object.fromEntries(
    (await phone.storage.summaries()).map((row) => [row.room, [row.groups, row.unsent]]),
  );
  assert.deepEqual(rows, { [room]: [0, 0], [other]: [1, 3] });
});

test('records are found below a parent, by type, by what they refer to, and a label by its code', async () => {
  const { phone, room } = await phoneWithRoom();
  const [kind, group, label] = [crypto.randomUUID(), crypto.randomUUID(), crypto.randomUUID()];
  await phone.save(
    { record: kind, type: 'kind', facet: 'identity', value: { parent: SITE, mark: 'K1' }, seen: null },
    { record: group, type: 'group', facet: 'identity', value: { parent: room, kind }, seen: null },
    {
      record: label,
      type: 'label',
      facet: 'identity',
      value: { parent: SITE, code: '7GK2M4TZ' },
      seen: null,
    },
  );
  const ids = (records) => records.map((record) => record.id);
  assert.deepEqual(ids(await phone.storage.children(room)), [group]);
  assert.deepEqual(ids(await phone.storage.children(SITE, 'kind')), [kind]);
  assert.deepEqual(ids(await phone.storage.all('room')), [room]);
  assert.deepEqual(ids(await phone.storage.referring(kind, 'group')), [group]);
  assert.equal((await phone.storage.lookup('label', '7GK2M4TZ')).id, label);
  assert.equal(await phone.storage.lookup('label', 'OTHER'), undefined);
});

test("a view orders its parts by the server's sequences, and what was not taken yet after all of them as it was saved", async () => {
  const server = new FakeServer();
  const a = await newPhone(server, { now: () => '2031-01-01T00:00:00Z' });
  const { room } = await a.room();
  await a.sync();
  const later = await newPhone(server, { now: () => '2020-01-01T00:00:00Z' });
  await later.sync();
  await later.set(room, 'room', 'size', { width_mm: 1 });
  await later.sync();
  await a.sync();
  await a.set(room, 'room', 'walk', { order: 1 });
  await a.set(room, 'room', 'hours', { hours: 1 });
  const { order, at } = await a.storage.get(room);
  assert.ok(at.size < at.identity, 'by the clocks it is older');
  assert.ok(
    order.identity < order.size && order.size < order.walk && order.walk < order.hours,
    JSON.stringify(order),
  );
});
