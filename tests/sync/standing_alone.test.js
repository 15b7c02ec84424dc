// One operation that the server cannot take holds back no other: it is found, and shown as refused.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { sendCarried } from '../../pwa/sync/carried.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone, SITE } from './support/phone.js';

const FLOORS = 40;

/** A phone with floors that wait; the server has one room of it already. */
async function withFloors(count = FLOORS) {
  const server = new FakeServer();
  const phone = await newPhone(server);
  await phone.sync();
  const floors = [];
  for (let number = 0; number < count; number += 1) {
    const record = crypto.randomUUID();
    await phone.save({
      record,
      type: 'floor',
      facet: 'identity',
      value: { parent: SITE, name: `F${number}` },
      seen: null,
    });
    floors.push(record);
  }
  return { server, phone, floors };
}

const pushes = (server) => server.requests.filter(({ path }) => path.endsWith('/push'));

for (const status of [500, 422])
  for (const place of [0, 17, FLOORS - 1])
    test(`operation ${place} of ${FLOORS}, on which the server answers ${status}, is refused alone and all others arrive`, async () => {
      const { server, phone, floors } = await withFloors();
      server.breaksOn = (operations) =>
        operations.some(({ record }) => record === floors[place]) ? status : null;
      await phone.sync();
      const refused = await phone.storage.refused();
      assert.deepEqual(
        refused.map(({ record, code, facts }) => [record, code, facts]),
        [[floors[place], 'phone.cannot-pass', { reason: `http-${status}`, status }]],
      );
      assert.equal((await phone.storage.counts()).operations, 0);
      assert.deepEqual(
        floors.filter((id) => !server.records.has(id)),
        [floors[place]],
      );
      assert.ok(
        pushes(server).length <= 2 * Math.ceil(Math.log2(FLOORS)) + 5,
        `${pushes(server).length} requests`,
      );
      const view = await phone.storage.get(floors[place]);
      assert.deepEqual(view.facets.identity, { parent: SITE, name: `F${place}` });
    });

test('two of them are both found, wherever they stand', async () => {
  const { server, phone, floors } = await withFloors();
  const bad = new Set([floors[3], floors[30]]);
  server.breaksOn = (operations) => (operations.some(({ record }) => bad.has(record)) ? 500 : null);
  await phone.sync();
  assert.deepEqual(new Set((await phone.storage.refused()).map(({ record }) => record)), bad);
  assert.equal(floors.filter((id) => server.records.has(id)).length, FLOORS - 2);
});

for (const status of [500, 422])
  test(`a server that answers ${status} to everything has nothing refused: all of it waits`, async () => {
    const { server, phone } = await withFloors(5);
    server.breaksOn = () => status;
    await assert.rejects(phone.sync(), (error) => error.status === status);
    assert.deepEqual(await phone.storage.refused(), []);
    assert.equal((await phone.storage.counts()).operations, 5);
    server.breaksOn = () => null;
    await phone.sync();
    assert.equal((await phone.storage.counts()).operations, 0);
  });

test('a server that fails once on one operation and takes it then has not refused it', async () => {
  const { server, phone, floors } = await withFloors(1);
  let failures = 1;
  server.breaksOn = (operations) => (operations.length > 0 && failures-- > 0 ? 500 : null);
  await phone.sync();
  assert.ok(server.records.has(floors[0]));
  assert.deepEqual(await phone.storage.refused(), []);
});

test('a refused one goes again when a person says so, and arrives once the server can take it', async () => {
  const { server, phone, floors } = await withFloors(3);
  server.breaksOn = (operations) => (operations.some(({ record }) => record === floors[1]) ? 500 : null);
  await phone.sync();
  server.breaksOn = () => null;
  const [{ id }] = await phone.storage.refused();
  await phone.storage.retryRefused(id, null);
  await phone.sync();
  assert.ok(server.records.has(floors[1]));
  assert.deepEqual(await phone.storage.refused(), []);
});

test('what was carried in a file passes one that cannot be taken, and names it', async () => {
  const { server, phone, floors } = await withFloors();
  const operations = (await phone.storage.waiting()).map(({ op }) => op);
  server.breaksOn = (sent) => (sent.some(({ record }) => record === floors[9]) ? 500 : null);
  const other = await newPhone(server);
  const carried = { site: SITE, person: 'p', device: 'd', made_at: '', operations, refused: [], photos: [] };
  const outcome = await sendCarried(other.storage, other.transport, carried);
  assert.deepEqual(
    outcome.refused.map(({ operation, code }) => [operation.record, code]),
    [[floors[9], 'phone.cannot-pass']],
  );
  assert.equal(outcome.results.applied, FLOORS - 1);
});
