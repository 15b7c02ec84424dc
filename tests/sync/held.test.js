// What waits for a manager: the phone asks now and then what has become of it, and says nothing else of it meanwhile.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { digest } from '../../pwa/sync/digest.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone } from './support/phone.js';

const OTHER = '00000000-0000-4000-8000-00000000000b';

/** A phone whose last change of a room waits for a manager. */
async function withHeldWork() {
  const server = new FakeServer();
  const phone = await newPhone(server);
  const { room } = await phone.room();
  await phone.sync();
  server.holds = ({ facet }) => facet === 'walk';
  await phone.set(room, 'room', 'walk', { order: 7 });
  await phone.sync();
  server.holds = () => false;
  return { server, phone, room };
}

const codesOf = async (phone) => (await phone.storage.refused()).map(({ code }) => code);

test('what waits for a manager goes on waiting, however often the phone asks', async () => {
  const { server, phone, room } = await withHeldWork();
  const { counter } = await phone.storage.phone();
  await phone.sync();
  await phone.sync();
  assert.deepEqual(await codesOf(phone), ['held']);
  assert.equal((await phone.storage.phone()).counter, counter, 'asked under its own id');
  assert.equal(server.records.get(room).facets.walk, undefined);
  assert.deepEqual((await phone.storage.get(room)).facets.walk, { order: 7 }, 'shown as it was entered');
});

test('what a manager let in is no longer said to be not taken, and what others change later is shown', async () => {
  const { server, phone, room } = await withHeldWork();
  server.settleHeld();
  await phone.sync();
  assert.deepEqual(await codesOf(phone), []);
  const view = await phone.storage.get(room);
  assert.deepEqual([view.mine, view.facets.walk], [{}, { order: 7 }]);
  const other = await newPhone(server, { person: OTHER });
  await other.sync();
  await other.set(room, 'room', 'walk', { order: 9 });
  await other.sync();
  await phone.sync();
  assert.deepEqual((await phone.storage.get(room)).facets.walk, { order: 9 });
  assert.deepEqual(await digest(await phone.storage.kept()), await digest([...server.records.values()]));
});

test('what a manager refused says so, and a person decides what becomes of it', async () => {
  const { server, phone, room } = await withHeldWork();
  server.settleHeld({ code: 'held-refused', facts: { name: 'Max' } });
  await phone.sync();
  assert.deepEqual(await codesOf(phone), ['held-refused']);
  assert.equal((await phone.storage.get(room)).refused.walk.code, 'held-refused');
});

test('what was let in goes again to a server that was set back to before it', async () => {
  const { server, phone, room } = await withHeldWork();
  const backup = server.snapshot();
  server.settleHeld();
  await phone.sync();
  server.putBack(backup);
  await phone.sync();
  server.settleHeld();
  await phone.sync();
  assert.deepEqual(server.records.get(room).facets.walk.value, { order: 7 });
});

test('what is held needs no attention of whoever made it: nothing is to be done there', async () => {
  const { server, phone } = await withHeldWork();
  assert.equal((await phone.storage.counts()).refused, 0);
  server.settleHeld({ code: 'held-refused', facts: { name: 'Max' } });
  await phone.sync();
  assert.equal((await phone.storage.counts()).refused, 1);
});
