// Answers are noted at once and taken into the records afterwards: whatever ends in between, nothing is sent twice as another, or lost.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { SiteStorage } from '../../pwa/storage/site_storage.js';
import { MOST_OPERATIONS, pushAll } from '../../pwa/sync/push.js';
import { NoAnswer } from '../../pwa/sync/transport.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone, POINTERS, SITE } from './support/phone.js';

const NAMED = (floor, n) => ({
  record: crypto.randomUUID(),
  type: 'room',
  facet: 'identity',
  value: { parent: floor, name: `room ${n}` },
  seen: null,
});

/** A phone that has synced once and has so many new rooms on one floor. */
async function withRooms(server, count) {
  const phone = await newPhone(server);
  const { floor } = await phone.room();
  await phone.sync();
  const drafts = Array.from({ length: count }, (_, n) => NAMED(floor, n));
  await phone.save(...drafts);
  return { phone, floor, rooms: drafts.map(({ record }) => record) };
}

/** The app was killed and is opened again. */
const openedAgain = (phone) =>
  SiteStorage.open({
    site: SITE,
    person: phone.storage.person,
    pointers: POINTERS,
    spec: 2,
    database: phone.database,
  });

const isUnsent = (view) => Object.keys(view.mine).length > 0;

test('an app that ends between an answer noted and taken in opens with it taken in', async () => {
  const server = new FakeServer();
  server.refuses = (op) =>
    op.to?.name === 'room 7' ? { code: 'value-out-of-range', facts: { field: 'name' } } : null;
  const { phone, rooms } = await withRooms(server, 20);
  await pushAll(phone.storage, phone.transport);
  assert.equal((await phone.storage.waiting()).length, 0);
  assert.ok(isUnsent(await phone.storage.get(rooms[0])), 'not taken in yet');
  await phone.storage.close();
  const again = await openedAgain(phone);
  const views = await Promise.all(rooms.map((room) => again.get(room)));
  assert.deepEqual(
    views.filter(isUnsent).map((view) => view.facets.identity.name),
    ['room 7'],
  );
  assert.deepEqual(
    (await again.refused()).map(({ op }) => op.to.name),
    ['room 7'],
  );
  assert.equal(
    (await again.summaries()).reduce((sum, row) => sum + row.unsent, 0),
    1,
  );
});

test('answers that are noted and not taken in go to a server that was set back once more, refused ones too', async () => {
  const server = new FakeServer();
  const { phone, rooms } = await withRooms(server, 20);
  const yesterday = server.snapshot();
  let refuse = true;
  server.refuses = (op) =>
    refuse && op.to?.name === 'room 7' ? { code: 'value-out-of-range', facts: {} } : null;
  await pushAll(phone.storage, phone.transport);
  refuse = false;
  server.putBack(yesterday);
  await phone.storage.serverWasSetBack(server.incarnation);
  assert.equal((await phone.storage.waiting()).length, 22, 'with the two of before the snapshot');
  await phone.sync();
  assert.ok(rooms.every((room) => server.records.has(room)));
  assert.deepEqual(await phone.storage.refused(), []);
  assert.equal((await phone.storage.waiting()).length, 0);
});

test('what was shown as refused does not go again by itself to a server that was set back', async () => {
  const server = new FakeServer();
  server.refuses = (op) => (op.to?.name === 'room 7' ? { code: 'value-out-of-range', facts: {} } : null);
  const { phone } = await withRooms(server, 20);
  await phone.sync();
  await phone.storage.serverWasSetBack(server.incarnation);
  assert.ok((await phone.storage.waiting()).every(({ op }) => op.to.name !== 'room 7'));
  assert.equal((await phone.storage.refused()).length, 1);
});

test('what an older app noted one by one goes again to a server that was set back', async () => {
  const { phone } = await withRooms(new FakeServer(), 3);
  const waiting = await phone.storage.waiting();
  await phone.storage.run(['answered', 'outbox'], 'readwrite', async (tx) => {
    await tx.objectStore('outbox').clear();
    for (const [place, row] of waiting.entries())
      await tx.objectStore('answered').put({ ...row, result: 'applied', seq: place + 3 });
  });
  await phone.storage.serverWasSetBack('another');
  const ids = (await phone.storage.waiting()).map(({ id }) => id);
  assert.deepEqual(
    ids.slice(-3),
    waiting.map(({ id }) => id),
  );
});

test('one request is on its way at a time, in the order of the outbox, while the next is made ready', async () => {
  const server = new FakeServer();
  const { phone } = await withRooms(server, 2 * MOST_OPERATIONS + 10);
  const sent = [];
  let flying = 0;
  phone.transport.fetch = async (address, request) => {
    flying += 1;
    assert.equal(flying, 1);
    const answer = await server.fetch(address, request);
    flying -= 1;
    sent.push(...(await answer.clone().json()).answers.map(({ id }) => Number(id.split('.')[2])));
    return answer;
  };
  await pushAll(phone.storage, phone.transport);
  assert.deepEqual(
    sent,
    [...sent].sort((a, b) => a - b),
  );
  assert.equal(sent.length, 2 * MOST_OPERATIONS + 10);
});

test('what is read ahead for the next request is not rewritten by a save meanwhile', async () => {
  const server = new FakeServer();
  const { phone, floor, rooms } = await withRooms(server, MOST_OPERATIONS + 5);
  const last = rooms[rooms.length - 1];
  let requests = 0;
  phone.transport.fetch = async (address, request) => {
    const answer = await server.fetch(address, request);
    requests += 1;
    // The second is ready when the first is answered a little later; then the form of its last room is saved again.
    for (let turn = 0; requests === 1 && turn < 50; turn++) await new Promise((done) => setTimeout(done));
    if (requests === 1) await phone.set(last, 'room', 'identity', { parent: floor, name: 'meanwhile' });
    return answer;
  };
  await phone.sync();
  await phone.sync();
  assert.equal(server.records.get(last).facets.identity.value.name, 'meanwhile');
  assert.equal(server.conflicts(), 0);
  assert.equal((await phone.storage.counts()).operations, 0);
});

test('what is saved while a push runs, and read ahead by it, is not rewritten either', async () => {
  const server = new FakeServer();
  const { phone, floor } = await withRooms(server, 700);
  const late = NAMED(floor, 'late');
  let requests = 0;
  phone.transport.fetch = async (address, request) => {
    if (!String(address).includes('/push')) return server.fetch(address, request);
    requests += 1;
    if (requests === 1) await phone.save(late);
    const answer = await server.fetch(address, request);
    // The third, with the late one in it, is ready by now; then its form is saved again.
    for (let turn = 0; requests === 2 && turn < 50; turn++) await new Promise((done) => setTimeout(done));
    if (requests === 2) await phone.set(late.record, 'room', 'identity', { parent: floor, name: 'later' });
    return answer;
  };
  await phone.sync();
  await phone.sync();
  assert.ok(requests >= 3);
  assert.equal(server.records.get(late.record).facets.identity.value.name, 'later');
  assert.equal(server.conflicts(), 0);
});

test('a connection that is lost in the middle keeps the answers of before, taken in', async () => {
  const server = new FakeServer();
  const { phone, rooms } = await withRooms(server, 3 * MOST_OPERATIONS);
  let requests = 0;
  phone.transport.fetch = async (address, request) => {
    requests += 1;
    if (requests > 2) throw new TypeError('fetch failed');
    return server.fetch(address, request);
  };
  await assert.rejects(phone.sync(), NoAnswer);
  const { operations } = await phone.storage.counts();
  const unsent = (await Promise.all(rooms.map((room) => phone.storage.get(room)))).filter(isUnsent);
  assert.ok(operations > 0 && operations < rooms.length);
  assert.equal(unsent.length, operations);
});

test('a server that answers nothing of what it was sent is left alone until later', async () => {
  const { phone } = await withRooms(new FakeServer(), 3);
  let requests = 0;
  phone.transport.push = async () => {
    requests += 1;
    return { answers: [] };
  };
  await assert.rejects(pushAll(phone.storage, phone.transport), NoAnswer);
  assert.equal(requests, 1);
  assert.equal((await phone.storage.waiting()).length, 3);
});

test('a request that is too large goes in smaller ones, what came before it once', async () => {
  const server = new FakeServer();
  const { phone, rooms } = await withRooms(server, MOST_OPERATIONS + 500);
  const tooLarge = () => Response.json({ code: 'push-too-large' }, { status: 413 });
  let taken = 0;
  phone.transport.fetch = async (address, request) => {
    const { operations } = JSON.parse(await textOf(request));
    if (operations.length > 300) return tooLarge();
    taken += operations.length;
    return server.fetch(address, request);
  };
  await pushAll(phone.storage, phone.transport);
  assert.equal(taken, rooms.length);
  assert.ok(rooms.every((room) => server.records.has(room)));
});

/** The body of a request, unzipped. */
async function textOf({ headers, body }) {
  if (headers['Content-Encoding'] !== 'gzip') return body;
  return new Response(new Blob([body]).stream().pipeThrough(new DecompressionStream('gzip'))).text();
}

test('what was refused for want of a record goes when that has come, even if a person tried it again too early', async () => {
  const server = new FakeServer();
  const [a, b] = [
    await newPhone(server),
    await newPhone(server, { person: '00000000-0000-4000-8000-00000000000b' }),
  ];
  const { floor } = await b.room();
  await b.sync();
  await a.sync();
  const room = crypto.randomUUID();
  let requests = 0;
  server.refuses = (op) => {
    const lacks = op.record === room && op.facet !== 'identity' && !server.records.has(room);
    requests += op.record === room;
    return lacks ? { code: 'record-missing', facts: { type: 'room', field: 'record', value: room } } : null;
  };
  await a.save({ record: room, type: 'room', facet: 'ceiling', value: { note: 'of plaster' }, seen: null });
  await a.sync();
  await a.storage.retryRefused((await a.storage.refused())[0].id, null);
  await a.sync();
  await a.sync();
  assert.equal(requests, 2, 'not by itself while it has not come');
  // An older app kept no more of it than this.
  const [{ lacked, fullPulls, ...row }] = await a.storage.refused();
  assert.deepEqual([lacked, fullPulls], [0, 0]);
  await a.storage.run(['refused'], 'readwrite', (tx) => tx.objectStore('refused').put(row));
  await b.save({
    record: room,
    type: 'room',
    facet: 'identity',
    value: { parent: floor, name: 'Press' },
    seen: null,
  });
  await b.sync();
  await a.sync();
  assert.equal(server.records.get(room).facets.ceiling.value.note, 'of plaster');
  assert.deepEqual(await a.storage.refused(), []);
});
