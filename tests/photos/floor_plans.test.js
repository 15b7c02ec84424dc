// A floor plan's picture is on every phone of the site, with or without a signal; other photos leave a phone when they have arrived.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { sha256Of } from '../../pwa/sync/canonical.js';
import { FakeServer } from '../sync/support/fake_server.js';
import { newPhone, SITE } from '../sync/support/phone.js';

const OTHER = '00000000-0000-4000-8000-00000000000b';

/** A photo of a floor or a room, saved on a phone. */
async function take(phone, subject, purpose, content) {
  const bytes = new TextEncoder().encode(content).buffer;
  const sha256 = await sha256Of(bytes);
  const id = crypto.randomUUID();
  const value = { parent: SITE, subject, purpose, sha256 };
  const row = { sha256, record: id, bytes: bytes.byteLength, at: '2026-03-01', received: false };
  await phone.storage.save([{ record: id, type: 'photo', facet: 'identity', value, seen: null }], { row, bytes });
  return { id, sha256 };
}

const isHere = async (phone, sha256) => (await phone.storage.photoBytes(sha256)) !== undefined;

async function twoPhones() {
  const server = new FakeServer();
  const [a, b] = [await newPhone(server), await newPhone(server, { person: OTHER })];
  const { floor, room } = await a.room();
  return { server, a, b, floor, room };
}

test('a floor plan stays on the phone that brought it and comes to the others; a photo of a room does not', async () => {
  const { a, b, floor, room } = await twoPhones();
  const plan = await take(a, floor, 'floor-plan', 'a plan');
  const photo = await take(a, room, 'room', 'a room');
  await a.sync();
  await b.sync();
  assert.deepEqual([await isHere(a, plan.sha256), await isHere(a, photo.sha256)], [true, false]);
  assert.deepEqual([await isHere(b, plan.sha256), await isHere(b, photo.sha256)], [true, false]);
  assert.equal((await a.storage.counts()).photos, 0);
});

test('the same plan is fetched once', async () => {
  const { server, a, b, floor } = await twoPhones();
  const { sha256 } = await take(a, floor, 'floor-plan', 'a plan');
  await a.sync();
  await b.sync();
  await b.sync();
  const asked = server.requests.filter(({ path }) => path.endsWith(sha256));
  assert.equal(asked.length, 2, 'put by the one phone, fetched by the other');
});

test('a plan that is still on the phone which took it comes later, and the sync has ended well', async () => {
  const { server, a, b, floor } = await twoPhones();
  const { sha256 } = await take(a, floor, 'floor-plan', 'a plan');
  await a.sync();
  const picture = server.photos.get(sha256);
  server.photos.delete(sha256);
  assert.deepEqual(await b.sync(), { matches: true });
  assert.equal(await isHere(b, sha256), false);
  server.photos.set(sha256, picture);
  await b.sync();
  assert.equal(await isHere(b, sha256), true);
});

test('the picture of a plan that was removed leaves the phones', async () => {
  const { a, b, floor } = await twoPhones();
  const plan = await take(a, floor, 'floor-plan', 'a plan');
  await a.sync();
  await b.sync();
  await a.storage.remove(plan.id);
  assert.equal(await isHere(a, plan.sha256), true, 'so long as no sync has come, Undo has its picture');
  await a.sync();
  await b.sync();
  assert.deepEqual([await isHere(a, plan.sha256), await isHere(b, plan.sha256)], [false, false]);
});

test('a photo that waits for the server is no old plan', async () => {
  const { server, a, room } = await twoPhones();
  const { sha256 } = await take(a, room, 'room', 'a room');
  server.signedIn = false;
  await assert.rejects(a.sync());
  await a.storage.dropOldPlans();
  assert.equal(await isHere(a, sha256), true);
});
