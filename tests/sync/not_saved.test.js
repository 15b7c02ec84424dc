// When the phone's storage fails: one quiet second try, then 'not saved', and never a half of anything.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { unwrap } from '../../pwa/vendor/idb.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone } from './support/phone.js';

const failing = (name, times, words = 'planted') => {
  let left = times;
  return () => {
    if (left-- > 0) throw new DOMException(words, name);
  };
};

/** Fails in the middle of each save, after the first write, `times` times. */
function plant(phone, name, times, words) {
  const fail = failing(name, times, words);
  const honest = phone.storage.connection.open.bind(phone.storage.connection);
  phone.storage.connection.open = async () => {
    const db = await honest();
    return new Proxy(db, {
      get(target, key) {
        if (key !== 'transaction')
          return typeof target[key] === 'function' ? target[key].bind(target) : target[key];
        return (stores, mode, options) => {
          const tx = target.transaction(stores, mode, options);
          if (mode === 'readwrite' && stores.includes('outbox')) {
            const plain = unwrap(tx);
            const { objectStore } = plain;
            plain.objectStore = (store) => {
              if (store === 'outbox') fail();
              return objectStore.call(plain, store);
            };
          }
          return tx;
        };
      },
    });
  };
}

test('a connection lost once is opened again, and the save is there once', async () => {
  const phone = await newPhone(new FakeServer());
  await (await phone.storage.connection.open()).close();
  await phone.room();
  assert.equal((await phone.storage.counts()).operations, 2);
});

test('a transaction that fails once for a lost connection is done once more', async () => {
  const phone = await newPhone(new FakeServer());
  plant(phone, 'UnknownError', 1);
  await phone.room();
  assert.equal((await phone.storage.counts()).operations, 2);
});

test('lost twice is not saved, says so, and leaves nothing half', async () => {
  const phone = await newPhone(new FakeServer());
  plant(phone, 'UnknownError', 2);
  await assert.rejects(phone.room(), { name: 'NotSaved', code: 'storage-lost' });
  assert.deepEqual([await phone.storage.kept(), (await phone.storage.counts()).operations], [[], 0]);
  await phone.room();
  assert.equal((await phone.storage.counts()).operations, 2);
});

test('a full phone is not tried twice and says that it is full', async () => {
  const phone = await newPhone(new FakeServer());
  plant(phone, 'QuotaExceededError', 1);
  await assert.rejects(phone.room(), { name: 'NotSaved', code: 'storage-full' });
  assert.deepEqual(await phone.storage.kept(), []);
});

test('a large value that Chromium has no room for is told as a full phone too', async () => {
  const phone = await newPhone(new FakeServer());
  plant(phone, 'DataError', 1, 'Failed to write blobs (IOError)');
  await assert.rejects(phone.room(), { name: 'NotSaved', code: 'storage-full' });
  assert.deepEqual(await phone.storage.kept(), []);
});

test('a mistake of the program is not dressed up as a storage failure', async () => {
  const phone = await newPhone(new FakeServer());
  plant(phone, 'DataError', 1);
  await assert.rejects(phone.room(), { name: 'DataError' });
});

test('a second tab with a newer app asks this one to close, and it says that it is outdated', async () => {
  const server = new FakeServer();
  const phone = await newPhone(server);
  let told = 0;
  phone.storage.connection.hooks.onOutdated = () => told++;
  const { openDB } = await import('../../pwa/vendor/idb.js');
  const newer = await openDB(phone.database, 99, { upgrade() {} });
  assert.equal(told, 1);
  newer.close();
  await phone.room();
  assert.equal(
    (await phone.storage.counts()).operations,
    2,
    'an older app still works on the newer database',
  );
});

test('a phone of the first version, with conflicts and a full outbox, counts its conflicts after the migration', async () => {
  const { openDB } = await import('../../pwa/vendor/idb.js');
  const { upgrade } = await import('../../pwa/storage/schema.js');
  const database = 'phone-of-the-first-version';
  const first = await openDB(database, 1, {
    upgrade(db, from, _to, tx) {
      upgrade(db, from, tx);
      for (const later of ['in_conflict', 'type_refs']) tx.objectStore('records').deleteIndex(later);
      db.deleteObjectStore('answers');
    },
  });
  const waiting = [
    {
      n: 1,
      id: 'd.e.1',
      record: 'r',
      op: { id: 'd.e.1', kind: 'set', facet: 'identity', to: { name: 'x' } },
    },
  ];
  const record = {
    id: 'r',
    type: 'room',
    seq: 2,
    facets: { identity: { op: 'o', seq: 2, by: 'p', at: '', value: { name: 'a' } } },
    conflicts: [{ id: 'd.e.9', facet: 'identity', value: { name: 'b' } }],
    mine: {},
    settling: {},
    parent: null,
    removed: false,
    refs: [],
  };
  await first.put('outbox', waiting[0]);
  await first.put('records', record);
  first.close();
  const phone = await newPhone(new FakeServer(), { database });
  assert.deepEqual(await phone.storage.waiting(), waiting);
  assert.equal((await phone.storage.counts()).conflicts, 1);
});

test('a migration never touches an operation already written', async () => {
  const server = new FakeServer();
  const phone = await newPhone(server);
  for (let n = 0; n < 50; n++) await phone.room(`room ${n}`);
  const before = await phone.storage.waiting();
  await phone.storage.close();
  const other = {
    ...phone.storage.pointers,
    refs: { ...phone.storage.pointers.refs, room: [['identity', 'name']] },
  };
  const { SiteStorage } = await import('../../pwa/storage/site_storage.js');
  const again = await SiteStorage.open({
    site: phone.storage.site,
    person: phone.storage.person,
    pointers: other,
    spec: 2,
    database: phone.database,
  });
  assert.deepEqual(await again.waiting(), before);
  assert.equal(
    (await again.referring('room 7', 'room')).length,
    1,
    'what is indexed has followed the newer spec',
  );
});

test('a database that the browser cleared while it was open saves nothing and says so, until it is opened anew', async () => {
  const phone = await newPhone(new FakeServer());
  const { floor } = await phone.room();
  await phone.storage.close();
  await new Promise((done) => Object.assign(indexedDB.deleteDatabase(phone.database), { onsuccess: done }));
  await assert.rejects(phone.set(floor, 'floor', 'identity', { name: 'Loft' }), {
    name: 'NotSaved',
    code: 'storage-cleared',
  });
  await assert.rejects(phone.sync(), { name: 'NotSaved', code: 'storage-cleared' });
  const anew = await newPhone(new FakeServer(), { database: phone.database });
  await anew.room();
  assert.equal((await anew.storage.counts()).operations, 2);
});
