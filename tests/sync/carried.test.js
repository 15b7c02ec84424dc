// Unsent work carried as a file: saved on a phone that cannot send, brought in on another, in any order, as often as one likes.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { sha256Of } from '../../pwa/sync/canonical.js';
import { readCarried, sendCarried } from '../../pwa/sync/carried.js';
import { digest } from '../../pwa/sync/digest.js';
import { unsentFile } from '../../pwa/store/unsent_file.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone, SITE } from './support/phone.js';

const OTHER = '00000000-0000-4000-8000-00000000000b';

async function phoneWithUnsentWork(server) {
  const phone = await newPhone(server);
  const { floor, room } = await phone.room();
  return { phone, floor, room };
}

const textOf = async (phone) => (await unsentFile(phone.storage)).text();

async function bring(server, text) {
  const desk = await newPhone(server, { person: OTHER });
  return { desk, outcome: await sendCarried(desk.storage, desk.transport, readCarried(text, SITE)) };
}

async function withPhoto(phone, room) {
  const bytes = new TextEncoder().encode('bytes of a picture').buffer;
  const sha256 = await sha256Of(bytes);
  const record = crypto.randomUUID();
  const draft = {
    record,
    type: 'photo',
    facet: 'identity',
    value: { parent: SITE, subject: room, sha256 },
    seen: null,
  };
  await phone.storage.save([draft], {
    row: { sha256, record, bytes: 18, at: '2026-11-26T10:00:00Z', received: false },
    bytes,
  });
  return sha256;
}

test('what a phone had saved to a file arrives from another, as made by who made it', async () => {
  const server = new FakeServer();
  const { phone, room } = await phoneWithUnsentWork(server);
  const sha256 = await withPhoto(phone, room);
  const { outcome } = await bring(server, await textOf(phone));
  assert.deepEqual(outcome, { results: { applied: 3 }, refused: [], photos: 1, photosRefused: [] });
  assert.equal(server.records.get(room).facets.identity.by, phone.storage.person);
  assert.equal(await sha256Of(server.photos.get(sha256)), sha256);
});

test('when the phone finds a signal after all, nothing is doubled and nothing conflicts', async () => {
  const server = new FakeServer();
  const { phone, floor, room } = await phoneWithUnsentWork(server);
  const text = await textOf(phone);
  await phone.set(room, 'room', 'identity', { parent: floor, name: 'Press room' });
  await bring(server, text);
  const again = await bring(server, text);
  assert.deepEqual(again.outcome.results, { applied: 2 }, 'the stored answer again');
  await phone.sync();
  assert.equal(server.records.get(room).facets.identity.value.name, 'Press room');
  assert.equal(server.conflicts(), 0);
  assert.equal(server.head, 3);
  assert.deepEqual(await digest(await phone.storage.kept()), await digest([...server.records.values()]));
});

test('a file of thousands goes in as many requests as a push of them would', async () => {
  const server = new FakeServer();
  const phone = await newPhone(server);
  for (let n = 0; n < 1100; n++) await phone.room(`room ${n}`);
  const { outcome } = await bring(server, await textOf(phone));
  assert.deepEqual(outcome.results, { applied: 2200 });
  assert.ok(server.requests.every(({ body }) => body.operations.length <= 1000));
});

test('what the server does not take is told with its reason, with what had been refused before', async () => {
  const server = new FakeServer();
  const { phone, floor } = await phoneWithUnsentWork(server);
  server.refuses = (op) => (op.to?.name === 'bad' ? { code: 'no-right', facts: { role: 'crew' } } : null);
  await phone.set(floor, 'floor', 'identity', { parent: SITE, name: 'bad' });
  await phone.sync();
  await phone.room('worse');
  server.refuses = (op) => (op.to?.name === 'worse' ? { code: 'field-missing', facts: {} } : null);
  const { outcome } = await bring(server, await textOf(phone));
  assert.deepEqual(outcome.results, { applied: 1, refused: 1 });
  assert.deepEqual(
    outcome.refused.map(({ operation, code }) => [operation.to.name, code]),
    [
      ['bad', 'no-right'],
      ['worse', 'field-missing'],
    ],
  );
});

test('an answer that is lost half way stops it; the same file again brings in all', async () => {
  const server = new FakeServer();
  const { phone, room } = await phoneWithUnsentWork(server);
  await withPhoto(phone, room);
  const text = await textOf(phone);
  server.faults = ['answer-lost'];
  await assert.rejects(bring(server, text), { name: 'NoAnswer', event: 'network-lost' });
  const { outcome } = await bring(server, text);
  assert.equal(outcome.photos, 1);
  assert.equal(server.head, 3);
});

test('a damaged picture in it is told and does not stop the rest', async () => {
  const server = new FakeServer();
  const { phone, room } = await phoneWithUnsentWork(server);
  await withPhoto(phone, room);
  const file = JSON.parse(await textOf(phone));
  for (const damaged of ['AAAA', 'no base64 at all!', null]) {
    file.photos[0].jpeg_base64 = damaged;
    const { outcome } = await bring(server, JSON.stringify(file));
    assert.deepEqual([outcome.photos, outcome.photosRefused.length], [0, 1]);
  }
});

test('a file that is not one, is cut off, of another site or of a later version is refused before anything is sent', async () => {
  const server = new FakeServer();
  const { phone } = await phoneWithUnsentWork(server);
  const text = await textOf(phone);
  const file = JSON.parse(text);
  const cases = [
    ['', 'carried.not-such-a-file'],
    ['[1]', 'carried.not-such-a-file'],
    ['null', 'carried.not-such-a-file'],
    [text.slice(0, -20), 'carried.not-such-a-file'],
    [JSON.stringify({ ...file, version: 2 }), 'carried.other-version'],
    [JSON.stringify({ ...file, site: OTHER }), 'carried.other-site'],
    [JSON.stringify({ ...file, operations: undefined }), 'carried.part-missing'],
    [JSON.stringify({ ...file, operations: [null] }), 'carried.part-missing'],
    [JSON.stringify({ ...file, photos: [{ sha256: '../x' }] }), 'carried.part-missing'],
  ];
  for (const [bad, code] of cases) await assert.rejects(bring(server, bad), { name: 'NotCarried', code });
  assert.equal(server.requests.length, 0);
});
