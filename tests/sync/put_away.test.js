// What a phone puts away at a sign-out, or when it is shut out: all that the server has. What is only here stays, and arrives.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { digest } from '../../pwa/sync/digest.js';
import { sha256Of } from '../../pwa/sync/canonical.js';
import { unsentFile } from '../../pwa/store/unsent_file.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone, SITE } from './support/phone.js';

const ALL = ['records', 'outbox', 'refused', 'answered', 'answers', 'photos', 'photo_bytes', 'summaries', 'staging', 'recovered'];

/** How many rows stand in each store that is not empty. */
async function rowsOf({ storage }) {
  const counted = await storage.run(ALL, 'readonly', (tx) =>
    Promise.all(ALL.map(async (name) => [name, await tx.objectStore(name).count()])),
  );
  return Object.fromEntries(counted.filter(([, count]) => count > 0));
}

/** A phone with a room that was sent. */
async function surveyed() {
  const server = new FakeServer();
  const phone = await newPhone(server);
  const { floor, room } = await phone.room();
  await phone.sync();
  return { server, phone, floor, room };
}

async function addPhoto(phone, room, text = 'a picture') {
  const bytes = new TextEncoder().encode(text).buffer;
  const sha256 = await sha256Of(bytes);
  const id = crypto.randomUUID();
  const row = { sha256, record: id, bytes: bytes.byteLength, at: '2026-03-01T09:00:00Z', received: false };
  const value = { parent: SITE, subject: room, sha256 };
  await phone.storage.save([{ record: id, type: 'photo', facet: 'identity', value, seen: null }], { row, bytes });
  return sha256;
}

test('nothing of a site is left on a phone that has sent all of it', async () => {
  const { phone, room } = await surveyed();
  await addPhoto(phone, room);
  await phone.sync();
  assert.ok((await rowsOf(phone)).records >= 3);
  const left = await phone.storage.putAway();
  assert.deepEqual(left, { operations: 0, photos: 0, refused: 0, recovered: 0 });
  assert.deepEqual(await rowsOf(phone), {});
  assert.deepEqual(await phone.storage.undoable(), []);
});

test('what is not sent stays, of its records nothing that others wrote, and it arrives afterwards', async () => {
  const { server, phone, room, floor } = await surveyed();
  await phone.set(room, 'room', 'walk', { order: 7 });
  const sha256 = await addPhoto(phone, room);
  const before = server.head;
  const left = await phone.storage.putAway();
  assert.deepEqual(left, { operations: 2, photos: 1, refused: 0, recovered: 0 });
  assert.deepEqual(await rowsOf(phone), { records: 2, outbox: 2, photos: 1, photo_bytes: 1 });
  const kept = (await phone.storage.kept()).find(({ id }) => id === room);
  assert.deepEqual([kept.facets, Object.keys(kept.mine)], [{}, ['walk']]);
  await phone.sync();
  assert.equal(server.head, before + 2);
  assert.deepEqual(server.records.get(room).facets.walk.value, { order: 7 });
  assert.ok(server.photos.has(sha256));
  assert.ok(await phone.storage.get(floor));
  const wanted = await digest([...server.records.values()]);
  assert.deepEqual(await digest(await phone.storage.kept()), wanted);
});

test('what was sent before is not sent again, and the phone keeps its name', async () => {
  const { server, phone, room } = await surveyed();
  const { device, counter } = await phone.storage.phone();
  await phone.storage.putAway();
  server.requests = [];
  await phone.set(room, 'room', 'walk', { order: 7 });
  await phone.sync();
  const [push] = server.requests.filter(({ path }) => path.endsWith('/push'));
  assert.deepEqual(push.body.operations.map(({ id }) => id.split('.')[2]), [String(counter + 1)]);
  assert.equal((await phone.storage.phone()).device, device);
});

test('what waits for a manager has arrived and goes; what was refused is only here and stays', async () => {
  const { server, phone, room } = await surveyed();
  server.refuses = ({ facet }) => (facet === 'walk' ? { code: 'no-right', facts: {} } : null);
  await phone.set(room, 'room', 'walk', { order: 7 });
  await phone.sync();
  const [refused] = await phone.storage.refused();
  const held = { ...refused, id: 'held', code: 'held' };
  await phone.storage.run(['refused'], 'readwrite', (tx) => tx.objectStore('refused').put(held));
  const left = await phone.storage.putAway();
  assert.deepEqual(left, { operations: 0, photos: 0, refused: 1, recovered: 0 });
  assert.deepEqual((await phone.storage.refused()).map(({ code }) => code), ['no-right']);
});

test('what only this phone still knew of others stays, and goes into the file of what was not sent', async () => {
  const { phone, room } = await surveyed();
  const row = { record: room, type: 'room', facet: 'walk', by: 'p', at: '', value: { order: 3 } };
  await phone.storage.run(['recovered'], 'readwrite', (tx) => tx.objectStore('recovered').add(row));
  assert.equal((await phone.storage.putAway()).recovered, 1);
  const file = JSON.parse(await (await unsentFile(phone.storage)).text());
  assert.deepEqual(file.recovered.map(({ value }) => value), [{ order: 3 }]);
});

test('a phone that is shut out still hands in its photos', async () => {
  const { server, phone, room } = await surveyed();
  const sha256 = await addPhoto(phone, room);
  phone.transport.fetch = (address, request) =>
    String(address).includes('/pull')
      ? Promise.resolve(Response.json({ code: 'device-revoked' }, { status: 403 }))
      : server.fetch(address, request);
  await assert.rejects(phone.sync(), { code: 'device-revoked', status: 403 });
  assert.ok(server.photos.has(sha256));
  assert.deepEqual(await phone.storage.putAway(), { operations: 0, photos: 0, refused: 0, recovered: 0 });
});

test('a phone whose name another goes by takes a new one and fetches all', async () => {
  const { server, phone, room } = await surveyed();
  const { device } = await phone.storage.phone();
  phone.transport.fetch = (address, request) =>
    String(address).includes(`device=${device}`)
      ? Promise.resolve(Response.json({ code: 'device-of-another' }, { status: 403 }))
      : server.fetch(address, request);
  await phone.sync();
  assert.notEqual((await phone.storage.phone()).device, device);
  assert.ok(await phone.storage.get(room));
  assert.deepEqual(await digest(await phone.storage.kept()), await digest([...server.records.values()]));
});

test('a request that is on its way is given up when its phone signs out', async () => {
  const { phone } = await surveyed();
  let given;
  phone.transport.fetch = (_address, { signal }) => {
    given = signal;
    return new Promise((_resolve, reject) => signal.addEventListener('abort', () => reject(signal.reason)));
  };
  const syncing = assert.rejects(phone.sync(), { event: 'network-lost' });
  while (!given) await new Promise((resolve) => setTimeout(resolve, 1));
  phone.transport.stop();
  await syncing;
});
