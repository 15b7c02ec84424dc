// After the server was set back, what only a reader still knew: put back by a person, or let go.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { FakeServer } from './support/fake_server.js';
import { newPhone } from './support/phone.js';
import { Site } from '../../pwa/store/site.js';

const OTHER = '00000000-0000-4000-8000-00000000000b';

/** A reader who has seen a floor, a room and its progress, that a server set back no longer has. */
async function readerAfterASetback() {
  const server = new FakeServer();
  const empty = server.snapshot();
  const writer = await newPhone(server);
  const { room } = await writer.room();
  await writer.set(room, 'room', 'progress', { progress: 'surveyed' });
  await writer.sync();
  const reader = await newPhone(server, { person: OTHER });
  await reader.sync();
  server.putBack(empty);
  await reader.sync();
  const site = new Site({
    entry: { id: 's', name: '', role: 'surveyor' },
    storage: reader.storage,
    engine: { tell() {} },
    onSaved() {},
    reference: {},
  });
  return { server, reader, site, room };
}

test('it waits for a person, and is counted for the sync line', async () => {
  const { reader, room } = await readerAfterASetback();
  const rows = await reader.storage.recovered();
  assert.deepEqual(rows.map(({ facet }) => facet).sort(), ['identity', 'identity', 'progress']);
  assert.equal((await reader.storage.counts()).recovered, 3);
  assert.equal(await reader.storage.get(room), undefined);
});

test('put back, a parent goes before its child, and all of it arrives', async () => {
  const { server, reader, site, room } = await readerAfterASetback();
  const rows = await reader.storage.recovered();
  await site.putBack(rows.reverse());
  await reader.sync();
  assert.equal(server.records.get(room).facets.identity.value.name, 'Bottling');
  assert.equal(server.records.get(room).facets.progress.value.progress, 'surveyed');
  assert.deepEqual(await reader.storage.recovered(), []);
  const made = server.requests.findLast(
    ({ path, body }) => path.endsWith('/push') && body.operations.length > 0,
  ).body.operations;
  assert.deepEqual(
    made.map(({ type, facet }) => `${type} ${facet}`),
    ['floor identity', 'room identity', 'room progress'],
  );
});

test('one can be let go without the others', async () => {
  const { reader, site } = await readerAfterASetback();
  const [first, ...others] = await reader.storage.recovered();
  await site.letGo([first]);
  assert.deepEqual(await reader.storage.recovered(), others);
});
