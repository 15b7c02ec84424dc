// The sum by which a copy is checked: kept in the transaction that changes a record, equal to one counted anew, and told from another.

import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { test } from 'node:test';
import { addWords, digest, lineHash, writtenSum, zeroWords } from '../../pwa/storage/digest.js';
import { sha256Words } from '../../pwa/storage/sha256.js';
import { SiteStorage } from '../../pwa/storage/site_storage.js';
import { RECOUNT_AFTER } from '../../pwa/sync/pull.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone, POINTERS, SITE } from './support/phone.js';

const hex = (words) => [...words].map((word) => word.toString(16).padStart(8, '0')).join('');

test('SHA-256 is that of FIPS 180-4: its examples, and a general library on every length about a block', () => {
  // FIPS 180-4 examples (csrc.nist.gov, SHA256.pdf): one block, and two.
  assert.equal(hex(sha256Words('abc')), 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  assert.equal(
    hex(sha256Words('abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq')),
    '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
  );
  const texts = Array.from({ length: 200 }, (_, length) => 'aé€𝄞'.repeat(60).slice(0, length));
  for (const text of [...texts, 'x'.repeat(100_000)])
    assert.equal(hex(sha256Words(text)), createHash('sha256').update(text).digest('hex'));
});

test('sums are modulo 2^256: past the top they begin at nothing, and what is taken out again leaves what was', () => {
  const top = new Array(8).fill(0xffffffff);
  assert.equal(writtenSum(addWords([...top], [0, 0, 0, 0, 0, 0, 0, 1])), '0'.repeat(64));
  assert.equal(writtenSum(addWords(zeroWords(), [0, 0, 0, 0, 0, 0, 0, 1], -1)), 'f'.repeat(64));
  let sum = 0n;
  const words = zeroWords();
  const hashes = Array.from({ length: 500 }, (_, number) => sha256Words(`line ${number}`));
  for (const [place, hashed] of hashes.entries()) {
    const sign = place % 3 === 2 ? -1 : 1;
    addWords(words, hashed, sign);
    sum = (sum + BigInt(sign) * BigInt(`0x${hex(hashed)}`) + (1n << 256n)) % (1n << 256n);
  }
  assert.equal(writtenSum(words), sum.toString(16).padStart(64, '0'));
});

async function twoPhones() {
  const server = new FakeServer();
  const [a, b] = [await newPhone(server), await newPhone(server)];
  const { room } = await a.room();
  await a.sync();
  await b.sync();
  return { server, a, b, room };
}

/** The kept sum against one counted anew from the records. */
async function assertKept(phone) {
  const { count, digest: sum } = digest(await phone.storage.kept());
  const kept = await phone.storage.sums();
  assert.deepEqual({ count: kept.count, sum: kept.sum }, { count, sum });
}

test('what is answered, pulled, removed, in conflict and settled is followed', async () => {
  const { a, b, room } = await twoPhones();
  const named = (name) => ({ parent: null, name });
  await a.set(room, 'room', 'identity', named('A'));
  await b.set(room, 'room', 'identity', named('B'));
  for (const phone of [a, b, a]) {
    await phone.sync();
    await assertKept(phone);
  }
  const [conflict] = (await a.storage.get(room)).conflicts;
  const seen = (await a.storage.get(room)).seen.identity;
  await a.save({
    record: room,
    type: 'room',
    facet: 'identity',
    value: named('C'),
    seen,
    settles: [conflict.id],
  });
  for (const phone of [a, b]) {
    await phone.sync();
    await assertKept(phone);
  }
  await b.storage.remove(room);
  await b.sync();
  await a.sync();
  await assertKept(a);
  await assertKept(b);
  await a.storage.needAll('asked-for');
  await a.sync();
  await assertKept(a);
});

test('a pull that brings a little reads only that: the copy is not gone through', async () => {
  const { a, b, room } = await twoPhones();
  await a.set(room, 'room', 'size', { width_mm: 4000 });
  await a.sync();
  b.storage.kept = b.storage.recountSums = () => assert.fail('all records were read');
  await b.sync();
  assert.deepEqual((await b.storage.get(room)).facets.size, { width_mm: 4000 });
});

/** Writes past the bookkeeping, as a fault of merging would: the sum does not have it. */
const changed = (phone, id, change) =>
  phone.storage.connection.run(['records'], 'readwrite', async (tx) => {
    const record = await tx.objectStore('records').get(id);
    change(record);
    await tx.objectStore('records').put(record);
  });

test('a copy that differs is noticed at the next pull, and fetched anew', async () => {
  const { server, a, b, room } = await twoPhones();
  const [whys, needAll] = [[], b.storage.needAll];
  b.storage.needAll = (why) => whys.push(why) && needAll(why);
  // The server changes a record without telling: what this phone took in is not what is there.
  server.records.get(room).facets.identity.value = { parent: null, name: 'Otherwise' };
  await a.set(room, 'room', 'size', { width_mm: 4100 });
  await a.sync();
  await b.sync();
  assert.deepEqual(whys, ['digest-differs']);
  assert.equal((await b.storage.get(room)).facets.identity.name, 'Otherwise');
});

test('a sum that is wrong over records that are right is counted anew, and nothing is fetched', async () => {
  const { b } = await twoPhones();
  b.storage.needAll = () => assert.fail('all was to be fetched');
  await b.storage.connection.run(['meta'], 'readwrite', async (tx) => {
    const held = await tx.objectStore('meta').get('sums');
    await tx.objectStore('meta').put({ ...held, words: zeroWords() }, 'sums');
  });
  await b.sync();
  await assertKept(b);
  assert.equal((await b.storage.syncState()).mismatch, false);
});

test('what has rotted behind the sum is found when that record changes, and after a long rest', async () => {
  for (const find of ['change', 'rest']) {
    const { a, b, room } = await twoPhones();
    const whys = [];
    const needAll = b.storage.needAll;
    b.storage.needAll = (why) => whys.push(why) && needAll(why);
    await changed(b, room, (record) => {
      record.facets.identity.value = { parent: null, name: 'Rotten' };
    });
    await b.sync();
    assert.deepEqual(whys, [], 'the sum is of what was written');
    if (find === 'change') await a.set(room, 'room', 'size', { width_mm: 4200 });
    await a.sync();
    for (let pull = 0; pull < (find === 'rest' ? RECOUNT_AFTER : 1); pull += 1) await b.sync();
    assert.deepEqual(whys, ['digest-differs'], find);
    assert.equal((await b.storage.get(room)).facets.identity.name, 'Bottling');
    await assertKept(b);
  }
});

test('a database of an older app, which kept no sum, is counted once and nothing is fetched', async () => {
  const { server, b } = await twoPhones();
  await b.storage.connection.run(['meta'], 'readwrite', (tx) => tx.objectStore('meta').delete('sums'));
  await b.storage.close();
  const storage = await SiteStorage.open({
    site: SITE, person: b.storage.person, pointers: POINTERS, spec: 1, database: b.database,
  }); // biome-ignore format: as it is opened
  assert.equal(await storage.sums(), null);
  const again = await newPhone(server, { database: b.database });
  again.storage.needAll = () => assert.fail('all was to be fetched');
  await again.sync();
  await assertKept(again);
  await storage.close();
});

test('a save that nobody has answered changes no sum, and what is cut off changes neither records nor sum', async () => {
  const { a, room } = await twoPhones();
  const before = await a.storage.sums();
  await a.set(room, 'room', 'size', { width_mm: 4300 });
  assert.deepEqual(await a.storage.sums(), before);
  const records = a.storage.connection.run.bind(a.storage.connection);
  a.storage.connection.run = (stores, mode, work, how) =>
    records(stores, mode, async (tx) => {
      const result = await work(tx);
      if (stores.includes('answers') && stores.includes('records')) throw new Error('cut off');
      return result;
    }, how); // biome-ignore format: one call
  await assert.rejects(a.sync(), /cut off/);
  a.storage.connection.run = records;
  assert.deepEqual(await a.storage.sums(), before);
  await assertKept(a);
  await a.sync();
  await assertKept(a);
});

test('a record without a line adds nothing', () => {
  assert.equal(lineHash({ id: 'x', facets: {}, conflicts: [] }), null);
  assert.deepEqual(digest([{ id: 'x', facets: {}, conflicts: [] }]), { count: 0, digest: '0'.repeat(64) });
});

test('a page of many records is taken in piece by piece: the page may draw between them', async () => {
  const server = new FakeServer();
  const [a, b] = [await newPhone(server), await newPhone(server)];
  for (let made = 0; made < 60; made += 1) await a.room(`Room ${made}`);
  await a.sync();
  let [inOneGo, most] = [0, 0];
  const { put } = IDBObjectStore.prototype;
  IDBObjectStore.prototype.put = function (...args) {
    inOneGo += 1;
    most = Math.max(most, inOneGo);
    setImmediate(() => {
      inOneGo = 0;
    });
    return put.apply(this, args);
  };
  try {
    await b.sync();
  } finally {
    IDBObjectStore.prototype.put = put;
  }
  assert.equal((await b.storage.kept()).length, 120);
  assert.ok(most > 0 && most <= 60, `${most} were written in one go`);
  await assertKept(b);
});
