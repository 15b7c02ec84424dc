// A phone whose storage is full of its own photos: they leave first, and make the room that everything else waits for.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { sha256Of } from '../../pwa/sync/canonical.js';
import { SiteStorage } from '../../pwa/storage/site_storage.js';
import { cycle } from '../../pwa/sync/cycle.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone, POINTERS, SITE } from './support/phone.js';

/** Refuses what is put while more pictures are on the phone than it has room beside; what is deleted makes room afterwards. */
function fullWith(t, phone, most) {
  const store = IDBObjectStore.prototype;
  const honest = { put: store.put, add: store.add, delete: store.delete };
  const full = { pictures: 0, most };
  const isHere = (each) => each.transaction.db.name === phone.database;
  for (const how of ['put', 'add'])
    store[how] = function (...given) {
      if (isHere(this) && full.pictures > full.most) throw new DOMException('planted', 'QuotaExceededError');
      return honest[how].apply(this, given);
    };
  store.delete = function (key) {
    const asked = honest.delete.call(this, key);
    // As on a disk: what is deleted makes room once it is written.
    if (isHere(this) && this.name === 'photo_bytes')
      this.transaction.addEventListener('complete', () => full.pictures--);
    return asked;
  };
  t.after(() => Object.assign(store, honest));
  return full;
}

/** The phone has no room any more once it has heard its next answer of a kind. */
function fullOnceHeard(phone, full, how) {
  const honest = phone.transport[how].bind(phone.transport);
  phone.transport[how] = async (asked) => {
    const answer = await honest(asked);
    full.most = 0;
    phone.transport[how] = honest;
    return answer;
  };
}

/** A phone that knows the site's room, with photos of it that wait. */
async function withPhotos(t, many, { most = 0 } = {}) {
  const server = new FakeServer();
  const phone = await newPhone(server);
  const { room } = await phone.room();
  await phone.sync();
  const taken = [];
  for (let n = 0; n < many; n++) taken.push(await photoOf(phone, room, n));
  const full = fullWith(t, phone, most);
  full.pictures = many;
  return { server, phone, room, taken, full };
}

async function photoOf(phone, room, n) {
  const bytes = new TextEncoder().encode(`picture ${n}`).buffer;
  const sha256 = await sha256Of(bytes);
  const row = { sha256, record: crypto.randomUUID(), bytes: 9, at: `2026-03-0${n + 1}`, received: false };
  const value = { parent: SITE, subject: room, sha256 };
  await phone.storage.save([{ record: row.record, type: 'photo', facet: 'identity', value, seen: null }], {
    row,
    bytes,
  });
  return { sha256, record: row.record };
}

const pictures = (phone) =>
  phone.storage.run(['photo_bytes'], 'readonly', (tx) => tx.objectStore('photo_bytes').count());

async function assertAllThere({ server, phone, taken }) {
  assert.deepEqual([...server.photos.keys()].sort(), taken.map(({ sha256 }) => sha256).sort());
  for (const { record, sha256 } of taken)
    assert.equal(server.records.get(record)?.facets.identity.value.sha256, sha256);
  const { operations, photos, refused } = await phone.storage.counts();
  assert.deepEqual({ operations, photos, refused }, { operations: 0, photos: 0, refused: 0 });
  assert.equal(await pictures(phone), 0);
  assert.deepEqual(
    (await phone.storage.summaries()).map((row) => row.photos_unsent),
    [0],
  );
}

for (const most of [0, 1, 2])
  test(`a full phone that has room once ${3 - most} of its photos have left sends everything in one sync`, async (t) => {
    const here = await withPhotos(t, 3, { most });
    assert.deepEqual(await here.phone.sync(), { matches: true });
    await assertAllThere(here);
  });

test('each photo goes up once', async (t) => {
  const { server, phone } = await withPhotos(t, 3);
  await phone.sync();
  assert.equal(server.requests.filter(({ path }) => path.includes('/photos/')).length, 3);
});

test('a phone that is full when it hears the answers to what it sent has lost neither them nor a photo', async (t) => {
  const here = await withPhotos(t, 2, { most: 9 });
  const { phone, full } = here;
  fullOnceHeard(phone, full, 'push');
  await phone.sync();
  await assertAllThere(here);
});

test('a phone that is full when a page comes takes it in after its photos have left', async (t) => {
  const here = await withPhotos(t, 2, { most: 9 });
  const { server, phone, full } = here;
  const other = await newPhone(server);
  await other.sync();
  await other.room('Cellar');
  await other.sync();
  fullOnceHeard(phone, full, 'pull');
  await phone.sync();
  assert.equal((await phone.storage.kept()).filter(({ type }) => type === 'room').length, 2);
  assert.equal(server.photos.size, 2);
  assert.equal((await phone.storage.counts()).photos, 0);
});

test('photos that the server had, and no pull had shown attached, go from a full phone too', async (t) => {
  const here = await withPhotos(t, 2, { most: 9 });
  for (const { sha256 } of here.taken) {
    here.server.photos.set(sha256, await here.phone.storage.photoBytes(sha256));
    await here.phone.storage.photoReceived(sha256);
  }
  here.full.most = 0;
  await here.phone.sync();
  await assertAllThere(here);
});

test('a photo whose receipt did not come stays on the full phone, is not counted as sent, and goes with the next sync', async (t) => {
  const here = await withPhotos(t, 2);
  const { server, phone, taken } = here;
  server.faults = ['answer-lost'];
  await assert.rejects(phone.sync(), { name: 'NotSaved', code: 'storage-full' });
  assert.equal((await phone.storage.counts()).photos, 2);
  assert.ok(await phone.storage.photoBytes(taken[0].sha256));
  await phone.sync();
  await assertAllThere(here);
});

test('a receipt of another photo lets nothing go', async (t) => {
  const { phone } = await withPhotos(t, 1);
  phone.transport.putPhoto = async () => ({ sha256: 'of another', bytes: 9 });
  await assert.rejects(phone.sync(), { code: 'storage-full' });
  assert.deepEqual([(await phone.storage.counts()).photos, await pictures(phone)], [1, 1]);
});

test('a photo that the server cannot take keeps none of the others on a full phone, and stays there itself', async (t) => {
  const { server, phone, taken } = await withPhotos(t, 3, { most: 1 });
  const put = phone.transport.putPhoto.bind(phone.transport);
  phone.transport.putPhoto = (sha256, bytes) =>
    put(sha256, sha256 === taken[0].sha256 ? new ArrayBuffer(1) : bytes);
  await phone.sync();
  assert.deepEqual(
    [...server.photos.keys()].sort(),
    taken
      .slice(1)
      .map(({ sha256 }) => sha256)
      .sort(),
  );
  assert.ok(await phone.storage.photoBytes(taken[0].sha256));
  const { photos, refused } = await phone.storage.counts();
  assert.deepEqual({ photos, refused }, { photos: 1, refused: 1 });
});

test('photos that wait for Wi-Fi are not sent to make room', async (t) => {
  const { server, phone } = await withPhotos(t, 1);
  const syncing = cycle(phone.storage, phone.transport, { photosToo: () => false });
  await assert.rejects(syncing, { code: 'storage-full' });
  assert.deepEqual([server.photos.size, await pictures(phone)], [0, 1]);
});

test('a full phone without photos asks for nothing more, and says that it is full', async (t) => {
  const { server, phone, full } = await withPhotos(t, 0);
  await phone.room('Cellar');
  full.pictures = 1;
  const before = server.requests.length;
  await assert.rejects(phone.sync(), { code: 'storage-full' });
  assert.equal(server.requests.length, before);
  assert.equal((await phone.storage.counts()).operations, 2);
});

test('a full phone whose session has ended says that somebody must sign in', async (t) => {
  const { server, phone } = await withPhotos(t, 1);
  server.signedIn = false;
  await assert.rejects(phone.sync(), { event: 'session-ended' });
  assert.deepEqual([(await phone.storage.counts()).photos, await pictures(phone)], [1, 1]);
});

test('a full phone opens its site again, shows its rooms, and sends its photos', async (t) => {
  const here = await withPhotos(t, 2, { most: 9 });
  const { server, phone, full } = here;
  const taking = phone.storage.takeAnswersIn;
  phone.storage.takeAnswersIn = () => Promise.reject(new Error('the page ends here'));
  await assert.rejects(phone.sync(), { message: 'the page ends here' });
  phone.storage.takeAnswersIn = taking;
  await phone.storage.connection.close();
  full.most = 0;
  const again = await newPhone(server, { database: phone.database });
  assert.equal((await again.storage.summaries()).length, 1);
  await again.sync();
  await assertAllThere({ ...here, phone: again });
});

test('a newer app that points elsewhere opens on a full phone, and is up to that once the photos have left', async (t) => {
  const here = await withPhotos(t, 2, { most: 9 });
  const { phone, full } = here;
  await phone.storage.connection.close();
  full.most = 0;
  const { site, person } = phone.storage;
  const pointers = { ...POINTERS, refs: { ...POINTERS.refs, room: [['identity', 'name']] } };
  const storage = await SiteStorage.open({ site, person, pointers, spec: 2, database: phone.database });
  assert.deepEqual(await storage.referring('Bottling', 'room'), []);
  await cycle(storage, phone.transport);
  assert.equal((await storage.referring('Bottling', 'room')).length, 1);
  await assertAllThere({ ...here, phone: { ...phone, storage } });
});
