// Syncs of whole phones against a server of the contract: lost and doubled messages, conflicts, refusals, forks, a server set back.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { sha256Of } from '../../pwa/sync/canonical.js';
import { digest } from '../../pwa/sync/digest.js';
import { FakeServer } from './support/fake_server.js';
import { pushAll } from '../../pwa/sync/push.js';
import { newPhone, SITE } from './support/phone.js';

const NOTHING = { operations: 0, photos: 0, refused: 0, recovered: 0, conflicts: 0 };

/** What waits on a phone. */
async function countsOf(phone) {
  const { version: _, ...counts } = await phone.storage.counts();
  return counts;
}

async function twoPhones() {
  const server = new FakeServer();
  const [a, b] = [
    await newPhone(server),
    await newPhone(server, { person: '00000000-0000-4000-8000-00000000000b' }),
  ];
  const { floor, room } = await a.room();
  await a.sync();
  await b.sync();
  return { server, a, b, floor, room };
}

const nameOf = async (phone, room) => (await phone.storage.get(room)).facets.identity.name;

async function sameEverywhere(server, ...phones) {
  const wanted = await digest([...server.records.values()]);
  for (const phone of phones) assert.deepEqual(await digest(await phone.storage.kept()), wanted);
}

test('a lost request is sent again', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  server.faults = ['lost'];
  await assert.rejects(a.sync(), { name: 'NoAnswer', event: 'network-lost' });
  assert.equal((await a.storage.counts()).operations, 1);
  await a.sync();
  await b.sync();
  assert.equal(await nameOf(b, room), 'Press');
  await sameEverywhere(server, a, b);
});

test('a lost answer makes no double and no conflict with oneself', async () => {
  const { server, a, floor, room } = await twoPhones();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  server.faults = ['answer-lost'];
  await assert.rejects(a.sync());
  await a.sync();
  assert.equal(server.head, 3);
  assert.equal(server.conflicts(), 0);
  await sameEverywhere(server, a);
});

test('a server error keeps everything, and says when to come back', async () => {
  const { server, a, floor, room } = await twoPhones();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  server.faults = [503];
  await assert.rejects(a.sync(), { event: 'server-failed', status: 503 });
  assert.equal((await a.storage.counts()).operations, 1);
});

test('a page of a hotel network is not taken for the server', async () => {
  const { a, floor, room } = await twoPhones();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  a.transport.fetch = async () => new Response('<html>Welcome</html>', { status: 200 });
  await assert.rejects(a.sync(), { event: 'network-lost', code: 'not-the-server' });
  assert.equal((await a.storage.counts()).operations, 1);
});

test('own values are not sent back, and are there all the same', async () => {
  const { server, a, room } = await twoPhones();
  await a.set(room, 'room', 'progress', { progress: 'surveyed' });
  await a.sync();
  assert.ok(server.requests.at(-1).query.get('device'));
  assert.deepEqual((await a.storage.get(room)).facets.progress, { progress: 'surveyed' });
  assert.deepEqual((await a.storage.get(room)).mine, {});
});

test('two who changed the same facet: both see both values, either settles, both have the same', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  await b.set(room, 'room', 'identity', { parent: floor, name: 'Boiler' });
  await a.sync();
  await b.sync();
  await a.sync();
  for (const phone of [a, b]) {
    const { facets, conflicts, by } = await phone.storage.get(room);
    assert.equal(facets.identity.name, 'Press');
    assert.deepEqual(
      conflicts.map((c) => [c.facet, c.value.name, c.by]),
      [['identity', 'Boiler', b.storage.person]],
    );
    assert.equal(by.identity, a.storage.person);
  }
  const [{ id }] = (await b.storage.get(room)).conflicts;
  const { seen } = await b.storage.get(room);
  await b.save({
    record: room,
    type: 'room',
    facet: 'identity',
    value: { parent: floor, name: 'Boiler' },
    seen: seen.identity,
    settles: [id],
  });
  assert.deepEqual((await b.storage.get(room)).conflicts, []);
  await b.sync();
  await a.sync();
  assert.equal(await nameOf(a, room), 'Boiler');
  assert.equal(server.conflicts(), 0);
  await sameEverywhere(server, a, b);
});

test('one who goes on editing while an answer is on its way has no conflict with themselves', async () => {
  const { server, a, floor, room } = await twoPhones();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'one' });
  const [first] = await a.storage.waiting();
  await a.storage.markSent(first.n);
  const answer = await a.transport.push(
    await a.transport.pack({ incarnation: null, operations: [first.op] }),
  );
  await a.set(room, 'room', 'identity', { parent: floor, name: 'two' });
  await a.storage.answered([first], answer.answers, answer);
  await a.storage.takeAnswersIn();
  assert.equal(await nameOf(a, room), 'two');
  assert.equal((await a.storage.counts()).operations, 1);
  await a.sync();
  assert.equal(server.records.get(room).facets.identity.value.name, 'two');
  assert.equal(server.conflicts(), 0);
});

test('one refused operation of many is visible with its reason, the others arrive', async () => {
  const { server, a, room } = await twoPhones();
  server.refuses = (op) =>
    op.to?.count === -1 ? { code: 'value-out-of-range', facts: { field: 'count', value: -1 } } : null;
  const groups = Array.from({ length: 40 }, () => crypto.randomUUID());
  for (const [place, group] of groups.entries()) {
    await a.save(
      { record: group, type: 'group', facet: 'identity', value: { parent: room }, seen: null },
      {
        record: group,
        type: 'group',
        facet: 'count',
        value: { count: place === 20 ? -1 : place },
        seen: null,
      },
    );
  }
  await a.sync();
  const [bad, ...others] = await a.storage.refused();
  assert.deepEqual(others, []);
  assert.equal(bad.code, 'value-out-of-range');
  assert.deepEqual(await countsOf(a), { ...NOTHING, refused: 1 });
  const view = await a.storage.get(groups[20]);
  assert.deepEqual(view.facets.count, { count: -1 });
  assert.equal(view.refused.count.op, bad.id);
  assert.equal(groups.filter((id) => server.records.get(id).facets.count).length, 39);
});

test('corrected, it goes out under a new id that names the old one, and those refused with it follow', async () => {
  const { server, a, room } = await twoPhones();
  const [group, reading] = [crypto.randomUUID(), crypto.randomUUID()];
  server.refuses = (op) => (op.to?.note === 'bad' || op.record === reading ? { code: 'x', facts: {} } : null);
  await a.save({
    record: group,
    type: 'group',
    facet: 'identity',
    value: { parent: room, note: 'bad' },
    seen: null,
  });
  const [{ id }] = await a.storage.waiting();
  server.refuses = (op) =>
    op.to?.note === 'bad'
      ? { code: 'text-wrong', facts: {} }
      : op.record === reading
        ? { code: 'refers-to-refused', facts: { operation: id } }
        : null;
  await a.save({
    record: reading,
    type: 'cavity_reading',
    facet: 'identity',
    value: { parent: group },
    seen: null,
  });
  await a.sync();
  assert.equal((await a.storage.refused()).length, 2);
  server.refuses = () => null;
  assert.equal(await a.storage.retryRefused(id, { parent: room, note: 'good' }), 2);
  const again = (await a.storage.waiting()).map(({ op }) => op);
  assert.equal(again[0].replaces, id);
  assert.deepEqual(
    again.map((op) => op.record),
    [group, reading],
  );
  await a.sync();
  assert.equal(server.records.get(group).facets.identity.value.note, 'good');
  assert.ok(server.records.get(reading));
  assert.deepEqual((await a.storage.get(group)).refused, {});
});

test('a refused operation that a person lets go shows what stood before', async () => {
  const { server, a, floor, room } = await twoPhones();
  server.refuses = () => ({ code: 'x', facts: {} });
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Bad' });
  await a.sync();
  assert.equal(await nameOf(a, room), 'Bad');
  const [{ id }] = await a.storage.refused();
  await a.storage.dropRefused(id);
  assert.equal(await nameOf(a, room), 'Bottling');
  assert.deepEqual((await a.storage.get(room)).refused, {});
});

test('a phone of which there is a copy takes a new name; both sets of edits arrive once', async () => {
  const { server, a, floor, room } = await twoPhones();
  const copy = await newPhone(server);
  await copyDatabase(a, copy);
  await a.set(room, 'room', 'identity', { parent: floor, name: 'From the first' });
  await copy.set(room, 'room', 'progress', { progress: 'surveyed' });
  await copy.set(room, 'room', 'ceiling', { ceiling: 'metal-deck' });
  await copy.set(room, 'room', 'ceiling', { ceiling: 'other' });
  const before = await copy.storage.phone();
  await a.sync();
  await copy.sync();
  const after = await copy.storage.phone();
  assert.notEqual(after.device, before.device);
  await a.sync();
  const { facets } = server.records.get(room);
  assert.equal(facets.identity.value.name, 'From the first');
  assert.equal(facets.progress.value.progress, 'surveyed');
  assert.equal(facets.ceiling.value.ceiling, 'other');
  assert.equal(server.conflicts(), 0);
  await sameEverywhere(server, a, copy);
});

test('what waits under a new name keeps its chain, and names what it was', async () => {
  const { server, a, floor, room } = await twoPhones();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'one' });
  await a.storage.markSent((await a.storage.phone()).counter);
  await a.set(room, 'room', 'identity', { parent: floor, name: 'two' });
  const before = (await a.storage.waiting()).map(({ op }) => op);
  await a.storage.takeNewName(new Map(before.map((op) => [op.id, `hash of ${op.id}`])));
  const after = (await a.storage.waiting()).map(({ op }) => op);
  assert.deepEqual(
    after.map((op) => op.formerly),
    before.map((op) => ({ id: op.id, hash: `hash of ${op.id}` })),
  );
  assert.equal(after[1].seen, after[0].id);
  assert.equal((await a.storage.get(room)).seen.identity, after[1].id);
  await a.save({
    record: room,
    type: 'room',
    facet: 'identity',
    value: { parent: floor, name: 'three' },
    seen: before[1].id,
  });
  await a.sync();
  assert.equal(server.records.get(room).facets.identity.value.name, 'three');
  assert.equal(server.conflicts(), 0);
});

test('a server set back to yesterday gets back what phones were told was applied', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  const yesterday = server.snapshot();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Today' });
  await a.sync();
  await b.sync();
  server.putBack(yesterday);
  await a.set(room, 'room', 'progress', { progress: 'surveyed' });
  await a.sync();
  assert.equal(server.records.get(room).facets.identity.value.name, 'Today');
  assert.equal(server.records.get(room).facets.progress.value.progress, 'surveyed');
  await b.sync();
  await sameEverywhere(server, a, b);
  assert.deepEqual(await a.storage.recovered(), []);
});

test('what only a reader still knows after that is offered to a person', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  const yesterday = server.snapshot();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Today' });
  await a.sync();
  await b.sync();
  server.putBack(yesterday);
  await b.sync();
  const [row] = await b.storage.recovered();
  assert.deepEqual([row.record, row.facet, row.value.name], [room, 'identity', 'Today']);
  assert.equal(await nameOf(b, room), 'Bottling');
});

test('a phone that was answered before its first pull hears that its record was removed meanwhile', async () => {
  const { server, a, b, floor } = await twoPhones();
  const fresh = await newPhone(server, { person: '00000000-0000-4000-8000-00000000000c' });
  const room = crypto.randomUUID();
  await fresh.set(room, 'room', 'identity', { parent: floor, name: 'Boiler' });
  server.faults = ['', 'lost'];
  await assert.rejects(fresh.sync(), { event: 'network-lost' });
  await a.sync();
  await a.storage.remove(room);
  await a.sync();
  const whys = [];
  const { needAll } = fresh.storage;
  fresh.storage.needAll = (why) => whys.push(why) && needAll(why);
  await fresh.sync();
  await b.sync();
  assert.deepEqual(whys, [], 'not by way of a digest that differs');
  assert.equal(await fresh.storage.get(room), undefined);
  await sameEverywhere(server, a, b, fresh);
});

/** Two phones that know a room which yesterday's backup does not have, and a server that refuses what hangs on nothing. */
async function roomOfToday() {
  const { server, a, b, floor } = await twoPhones();
  const lacking = (id) =>
    server.records.has(id) || id === SITE ? null : { code: 'record-missing', facts: { value: id } };
  server.refuses = (op) => (op.facet === 'identity' ? lacking(op.to.parent) : lacking(op.record));
  const yesterday = server.snapshot();
  const room = crypto.randomUUID();
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Today' });
  await a.sync();
  await b.sync();
  return { server, a, b, room, yesterday };
}

test('what was built on the record of another phone that comes later goes out again by itself', async () => {
  const { server, a, b, room, yesterday } = await roomOfToday();
  await b.set(room, 'room', 'progress', { progress: 'surveyed' });
  await b.sync();
  server.putBack(yesterday);
  await b.sync();
  assert.equal((await b.storage.refused())[0].code, 'record-missing');
  await b.sync();
  assert.equal((await b.storage.counts()).refused, 1, 'nothing is tried again while the record is not there');
  await a.sync();
  await b.sync();
  assert.equal(server.records.get(room).facets.progress.value.progress, 'surveyed');
  assert.deepEqual(await countsOf(b), NOTHING);
});

test('what was built on a record that came back and was removed is not left refused by a full pull, which brings no removed records', async () => {
  const { server, a, b, room, yesterday } = await roomOfToday();
  server.putBack(yesterday);
  await b.set(room, 'room', 'progress', { progress: 'surveyed' });
  await b.sync();
  assert.equal((await b.storage.counts()).refused, 1);
  await a.storage.remove(room);
  await a.sync();
  await b.storage.needAll('digest-differs');
  await b.sync();
  assert.equal((await b.storage.counts()).refused, 0);
  assert.equal(server.records.get(room).conflicts.length, 1, 'a removal that had not seen it');
  await a.sync();
  await sameEverywhere(server, a, b);
});

test('a phone that is to pull everything anew finds out that the server was set back meanwhile', async () => {
  const server = new FakeServer();
  const a = await newPhone(server);
  const yesterday = server.snapshot();
  const { room } = await a.room('of today');
  // Answered, and then the app was killed before its first pull.
  await pushAll(a.storage, a.transport);
  server.putBack(yesterday);
  assert.equal(server.records.has(room), false);
  await a.sync();
  assert.equal(server.records.get(room)?.facets.identity.value.name, 'of today');
  await a.storage.needAll('digest-differs');
  server.putBack(yesterday);
  await a.sync();
  assert.equal(server.records.get(room)?.facets.identity.value.name, 'of today');
});

test('photos that are still on the phone go to a server that was set back once more', async () => {
  const { server, a, room } = await twoPhones();
  const bytes = new TextEncoder().encode('a picture').buffer;
  const sha256 = await sha256Of(bytes);
  const row = { sha256, record: crypto.randomUUID(), bytes: 9, at: '2026-03-01', received: false };
  await a.storage.save(
    [
      {
        record: row.record,
        type: 'photo',
        facet: 'identity',
        value: { parent: SITE, subject: room, sha256 },
        seen: null,
      },
    ],
    { row, bytes },
  );
  const yesterday = server.snapshot();
  await a.storage.photoReceived(sha256);
  server.putBack(yesterday);
  await a.storage.serverWasSetBack(server.incarnation);
  assert.equal((await a.storage.counts()).photos, 1);
  assert.equal((await a.storage.summaries())[0].photos_unsent, 1);
  await a.sync();
  assert.equal(server.photos.size, 1);
});

test('answered operations are kept until the server says that a backup holds them', async () => {
  const { server, a, floor, room } = await twoPhones();
  const kept = () => a.storage.run(['outbox'], 'readonly', (tx) => tx.objectStore('outbox').count());
  assert.equal(await kept(), 2);
  server.backedUp = server.head;
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Today' });
  await a.sync();
  assert.equal(await kept(), 1);
});

test('another reading scope pulls everything again; what may not be read any more goes, unsent work stays', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  const hidden = crypto.randomUUID();
  await b.save({ record: hidden, type: 'price', facet: 'identity', value: { parent: SITE }, seen: null });
  await b.sync();
  await a.sync();
  assert.ok(await a.storage.get(hidden));
  server.records.delete(hidden);
  server.scope = 'crew.2';
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Press' });
  assert.deepEqual(await a.sync(), { matches: true });
  assert.equal(await a.storage.get(hidden), undefined);
  assert.equal(await nameOf(a, room), 'Press');
  assert.equal((await a.storage.syncState()).scope, 'crew.2');
});

test('a copy that is not what the server has is fetched anew beside the old one, the outbox untouched', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  await a.storage.run(['records'], 'readwrite', async (tx) => {
    const record = await tx.objectStore('records').get(room);
    record.facets.identity.value.name = 'Rotten bit';
    await tx.objectStore('records').put(record);
  });
  await b.set(room, 'room', 'progress', { progress: 'open' });
  await b.sync();
  assert.deepEqual(await a.sync(), { matches: true });
  assert.equal(await nameOf(a, room), 'Bottling');
  await sameEverywhere(server, a, b);
});

test('a server whose digest never matches is told once and not asked for ever', async () => {
  const { server, a, b, room } = await twoPhones();
  await b.set(room, 'room', 'progress', { progress: 'open' });
  await b.sync();
  const honest = server.fetch;
  a.transport.fetch = async (...args) => {
    const body = await (await honest(...args)).json();
    return Response.json({ ...body, ...(body.sum && { sum: '0'.repeat(64) }) });
  };
  const before = server.requests.length;
  assert.deepEqual(await a.sync(), { matches: false });
  assert.ok(server.requests.length - before <= 2);
  assert.equal((await a.storage.syncState()).mismatch, true);
});

test('a value of its own that the phone does not know makes it pull everything', async () => {
  const { server, a, b, room } = await twoPhones();
  const { device, epoch } = await a.storage.phone();
  server.records.get(room).facets.progress = {
    op: `${device}.${epoch}.77`,
    seq: ++server.head,
    by: 'x',
    at: 'y',
    value: { progress: 'open' },
  };
  server.records.get(room).seq = server.head;
  await a.sync();
  assert.deepEqual((await a.storage.get(room)).facets.progress, { progress: 'open' });
  await b.sync();
  await sameEverywhere(server, a, b);
});

test('many records come in pages, each stored with its cursor; a cut pull goes on where it was', async () => {
  const server = new FakeServer();
  const a = await newPhone(server);
  const { room } = await a.room();
  const drafts = Array.from({ length: 2500 }, (_, n) => ({
    record: crypto.randomUUID(),
    type: 'group',
    facet: 'identity',
    value: { parent: room, note: `${n}` },
    seen: null,
  }));
  await a.storage.save(drafts);
  await a.sync();
  const sent = server.requests
    .filter(({ path }) => path.endsWith('/push'))
    .map(({ body }) => body.operations.length);
  assert.equal(
    sent.reduce((sum, count) => sum + count),
    2502,
  );
  assert.ok(
    sent[0] < sent[1] && sent[1] < sent[2] && sent[2] === 1000,
    `${sent}: a small one first, for weak links, then more`,
  );
  const b = await newPhone(server);
  server.faults = [undefined, 'lost'];
  await assert.rejects(b.sync());
  assert.equal((await b.storage.kept()).length, 1000);
  assert.equal((await b.storage.syncState()).cursor, 1000);
  assert.deepEqual(await b.sync(), { matches: true });
  assert.equal((await b.storage.summaries())[0].groups, 2500);
});

test('a batch that is too large for the server is halved', async () => {
  const { server, a, room } = await twoPhones();
  for (let n = 0; n < 4; n++)
    await a.save({
      record: crypto.randomUUID(),
      type: 'group',
      facet: 'identity',
      value: { parent: room, note: 'x'.repeat(20_000) },
      seen: null,
    });
  server.faults = [413];
  await a.sync();
  assert.equal((await a.storage.counts()).operations, 0);
});

test('nothing to do is one request; 50 changes are two', async () => {
  const { server, a, room } = await twoPhones();
  await a.sync();
  let before = server.requests.length;
  await a.sync();
  assert.equal(server.requests.length - before, 1);
  before = server.requests.length;
  for (let n = 0; n < 50; n++)
    await a.save({
      record: crypto.randomUUID(),
      type: 'group',
      facet: 'identity',
      value: { parent: room },
      seen: null,
    });
  await a.sync();
  assert.equal(server.requests.length - before, 2);
});

test('an older page and an older answer replace nothing newer', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  const old = await a.transport.pull({ since: 0 });
  await b.set(room, 'room', 'identity', { parent: floor, name: 'Newer' });
  await b.sync();
  await a.sync();
  await a.storage.pulled({ ...old, next: server.head, more: false });
  assert.equal(await nameOf(a, room), 'Newer');
});

test('a removed room on one phone, an edit of it on another: a conflict, no silent return, no silent loss', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  await a.storage.remove(room);
  await b.set(room, 'room', 'identity', { parent: floor, name: 'Still here' });
  await a.sync();
  await b.sync();
  await a.sync();
  for (const phone of [a, b]) {
    const view = await phone.storage.get(room);
    assert.equal(view.removed, true);
    assert.deepEqual(
      view.conflicts.map((c) => c.value.name),
      ['Still here'],
    );
  }
  await sameEverywhere(server, a, b);
});

test('a photo goes after the records and is kept until its receipt and a pull that shows it', async () => {
  const { server, a, room } = await twoPhones();
  const bytes = new TextEncoder().encode('a picture').buffer;
  const sha256 = await sha256Of(bytes);
  const id = crypto.randomUUID();
  const draft = {
    record: id,
    type: 'photo',
    facet: 'identity',
    value: { parent: SITE, subject: room, sha256 },
    seen: null,
  };
  await a.storage.save([draft], {
    row: { sha256, record: id, bytes: 9, at: '2026-01-01', received: false },
    bytes,
  });
  assert.equal((await a.storage.summaries())[0].photos_unsent, 1);
  server.faults = [undefined, undefined, 'lost'];
  await assert.rejects(a.sync());
  assert.deepEqual(await countsOf(a), { ...NOTHING, photos: 1 });
  assert.equal(server.records.get(id).facets.identity.value.sha256, sha256);
  server.faults = [undefined, 'answer-lost'];
  await assert.rejects(a.sync());
  assert.ok(await a.storage.photoBytes(sha256));
  await a.sync();
  assert.equal(server.photos.size, 1);
  assert.equal(await a.storage.photoBytes(sha256), undefined);
  assert.equal((await a.storage.summaries())[0].photos_unsent, 0);
});

test('a photo that the server cannot accept is kept, visible, and does not stop the next', async () => {
  const { server, a } = await twoPhones();
  for (const content of ['not a picture', 'a picture']) {
    const bytes = new TextEncoder().encode(content).buffer;
    const sha256 = await sha256Of(bytes);
    const id = crypto.randomUUID();
    await a.storage.save(
      [{ record: id, type: 'photo', facet: 'identity', value: { parent: SITE, sha256 }, seen: null }],
      { row: { sha256, record: id, bytes: 1, at: content, received: false }, bytes },
    );
  }
  const honest = server.fetch;
  const bad = (await a.storage.photosHere()).find((row) => row.at === 'not a picture').sha256;
  a.transport.fetch = (address, request) =>
    String(address).endsWith(bad)
      ? Promise.resolve(Response.json({ code: 'photo-unreadable' }, { status: 422 }))
      : honest(address, request);
  await a.sync();
  assert.deepEqual(await countsOf(a), { ...NOTHING, photos: 1, refused: 1 });
  assert.equal((await a.storage.photosHere())[0].refused.code, 'photo-unreadable');
  assert.equal(server.photos.size, 1);
});

test("a copy made before the first save never takes the other phone's operations for its own of the same number", async () => {
  const server = new FakeServer();
  const [a, copy] = [await newPhone(server), await newPhone(server)];
  await copyDatabase(a, copy);
  const { floor, room } = await a.room();
  await a.set(room, 'room', 'ceiling', { note: 'of the first' });
  await a.sync();
  // The copy's number 3 is another facet than the first's number 3, which it sees and goes on from.
  await copy.set(crypto.randomUUID(), 'floor', 'identity', { parent: SITE, name: 'One' });
  await copy.set(crypto.randomUUID(), 'floor', 'identity', { parent: SITE, name: 'Two' });
  const held = await a.storage.get(room);
  await copy.save({ record: room, type: 'room', facet: 'hours', value: { hours_year: 3 }, seen: null });
  await copy.save({
    record: room,
    type: 'room',
    facet: 'ceiling',
    value: { note: 'of the copy' },
    seen: held.seen.ceiling,
  });
  const own = (await copy.storage.waiting()).map(({ id }) => id);
  assert.ok(own.includes(held.seen.ceiling), 'the same id, another change');
  await copy.sync();
  await a.sync();
  await copy.sync();
  assert.equal(server.conflicts(), 0);
  assert.deepEqual(server.records.get(room).facets.ceiling.value, { note: 'of the copy' });
  assert.deepEqual(server.records.get(room).facets.hours.value, { hours_year: 3 });
  assert.equal(server.records.get(floor).facets.identity.value.name, 'Ground');
  await sameEverywhere(server, a, copy);
});

test('a value left out of a page is not filled with another change of the same number', async () => {
  const server = new FakeServer();
  const [a, copy] = [await newPhone(server), await newPhone(server)];
  await a.sync();
  await copyDatabase(a, copy);
  const floor = crypto.randomUUID();
  await a.set(floor, 'floor', 'identity', { parent: SITE, name: 'Ground' });
  await a.sync();
  await copy.set(crypto.randomUUID(), 'floor', 'identity', { parent: SITE, name: 'Roof' });
  const { device } = await copy.storage.phone();
  const response = await server.fetch(`http://fake/api/sites/${SITE}/pull?since=0&device=${device}`);
  const { missing } = await copy.storage.pulled(await response.json());
  assert.ok(missing, 'pulls in full');
  assert.notEqual((await copy.storage.get(floor))?.facets.identity?.name, 'Roof');
});

async function copyDatabase(from, to) {
  const names = ['records', 'outbox', 'answers', 'meta'];
  const rows = await from.storage.run(names, 'readonly', async (tx) => {
    const found = [];
    for (const name of names)
      found.push([name, await tx.objectStore(name).getAllKeys(), await tx.objectStore(name).getAll()]);
    return found;
  });
  await to.storage.run(names, 'readwrite', async (tx) => {
    for (const [name, keys, values] of rows)
      for (const [place, value] of values.entries())
        await (name === 'meta'
          ? tx.objectStore(name).put(value, keys[place])
          : tx.objectStore(name).put(value));
  });
}

test('a record that is being brought back keeps what it said through a full pull, which leaves removed ones out', async () => {
  const { server, a, floor, room } = await twoPhones();
  await a.storage.remove(room);
  await a.sync();
  await a.storage.restore(room);
  await a.storage.needAll('digest-differs');
  const push = a.transport.push;
  const kept = a.transport.pull.bind(a.transport);
  a.transport.pull = async (question) => {
    const page = await kept(question);
    return { ...page, records: page.records.filter((state) => !state.removed) };
  };
  a.transport.push = async () => ({ answers: [] });
  const { pullAll } = await import('../../pwa/sync/pull.js');
  await pullAll(a.storage, a.transport);
  assert.equal(await nameOf(a, room), 'Bottling');
  a.transport.push = push;
  await a.set(room, 'room', 'identity', { parent: floor, name: 'Back' });
  await a.sync();
  assert.equal(server.conflicts(), 0);
  assert.equal(server.records.get(room).facets.identity.value.name, 'Back');
});

test('a removed record that a full pull leaves out keeps no conflict that was settled elsewhere', async () => {
  const { replaceBase } = await import('../../pwa/storage/merging.js');
  const removed = {
    id: 'r',
    type: 'room',
    seq: 5,
    facets: { life: { op: 'o', seq: 5, value: { removed: true } } },
    conflicts: [{ id: 'c', facet: 'life' }],
    mine: {},
    settling: {},
    refs: [],
  };
  assert.deepEqual(replaceBase(structuredClone(removed), undefined, true).conflicts, []);
  assert.equal(replaceBase(structuredClone(removed), undefined, false), null, 'it may be gone');
});

test('what three entered differently is one conflict in the row of its room', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  const c = await newPhone(server);
  await c.sync();
  for (const [phone, name] of [[a, 'Press'], [b, 'Boiler'], [c, 'Loft']]) await phone.set(room, 'room', 'identity', { parent: floor, name });
  for (const phone of [a, b, c, a, b]) await phone.sync();
  for (const phone of [a, b, c]) {
    const { conflicts } = await phone.storage.get(room);
    assert.equal(conflicts.length, 2);
    assert.equal((await phone.storage.summaries()).find((row) => row.room === room).conflicts, 1);
  }
  const { conflicts, seen } = await b.storage.get(room);
  await b.save({
    record: room, type: 'room', facet: 'identity', value: { parent: floor, name: 'Boiler' }, seen: seen.identity, settles: conflicts.map(({ id }) => id),
  });
  await b.sync();
  await a.sync();
  for (const phone of [a, b]) assert.equal((await phone.storage.summaries()).find((row) => row.room === room).conflicts, 0);
});

test('the line counts conflicts as the screen shows them: one for each part of a record, however many entered something', async () => {
  const { server, a, b, floor, room } = await twoPhones();
  const c = await newPhone(server);
  await c.sync();
  for (const [phone, name] of [[a, 'Press'], [b, 'Boiler'], [c, 'Loft']]) {
    await phone.set(room, 'room', 'identity', { parent: floor, name });
    await phone.set(room, 'room', 'heights', { ceiling_ticks: name.length });
  }
  await a.set(floor, 'floor', 'identity', { parent: SITE, name: 'Low' });
  await b.set(floor, 'floor', 'identity', { parent: SITE, name: 'High' });
  for (const phone of [a, b, c, a, b]) await phone.sync();
  for (const phone of [a, b, c]) {
    const shown = await phone.storage.everything();
    const cards = shown.flatMap(({ conflicts }) => [...new Set(conflicts.map(({ facet }) => facet))]);
    assert.equal(cards.length, 3);
    assert.equal((await phone.storage.counts()).conflicts, 3);
  }
});
