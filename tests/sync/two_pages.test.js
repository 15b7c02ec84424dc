// Two pages over one database, and an app that ends at any moment: no save is lost or doubled, and the rooms' rows end up right.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { SiteStorage } from '../../pwa/storage/site_storage.js';
import { countAll } from '../../pwa/storage/summaries.js';
import { FakeServer } from './support/fake_server.js';
import { dice } from './support/history.js';
import { newPhone, POINTERS, SITE } from './support/phone.js';

const HISTORIES = 30;
const STEPS = 40;

/** A phone that has the site's own record, a floor and a room, and its rows counted. */
async function phoneWithRoom() {
  const phone = await newPhone(new FakeServer());
  await phone.save({ record: SITE, type: 'site', facet: 'identity', value: { name: 'Here' }, seen: null });
  const { room } = await phone.room();
  await phone.storage.summaries();
  assert.ok(!(await phone.storage.syncState()).recount);
  return { phone, room };
}

const pageOf = (phone) =>
  SiteStorage.open({
    site: SITE,
    person: phone.storage.person,
    pointers: POINTERS,
    spec: 2,
    database: phone.database,
  });

const groupIn = (room) => ({
  record: crypto.randomUUID(),
  type: 'group',
  facet: 'identity',
  value: { parent: room },
  seen: null,
});

const readingIn = (group) => ({
  record: crypto.randomUUID(),
  type: 'cavity_reading',
  facet: 'identity',
  value: { parent: group, position: 1 },
  seen: null,
});

/** The app is killed: nothing of this page runs any more. */
const killed = (page) => page.connection.close();

/** @returns {Promise<number[]>} */
const counters = async (page) => (await page.waiting()).map(({ n }) => n);

async function rightRows(page) {
  const records = await page.kept();
  const byRoom = (rows) => [...rows].sort((a, b) => (a.room < b.room ? -1 : 1));
  assert.deepEqual(byRoom(await page.summaries()), byRoom(countAll(records, new Map())));
}

test('two pages that save in turns give each operation a counter of its own', async () => {
  const phone = await newPhone(new FakeServer());
  const { room } = await phone.room();
  const other = await pageOf(phone);
  for (let turn = 0; turn < 5; turn++)
    for (const page of [phone.storage, other]) await page.save([groupIn(room)]);
  assert.deepEqual(
    await counters(other),
    Array.from({ length: 12 }, (_, n) => n + 1),
  );
  assert.equal((await other.children(room, 'group')).length, 10);
  await phone.sync();
  assert.equal((await phone.storage.counts()).operations, 0);
});

test('what another page has sent meanwhile is not rewritten by a page that does not know it yet', async () => {
  const server = new FakeServer();
  const phone = await newPhone(server);
  const { room } = await phone.room();
  const page = await pageOf(phone);
  const group = groupIn(room);
  await page.save([group]);
  await phone.sync();
  // Made anew by a form that showed nothing, as if the page had never heard of its own save.
  await page.save([{ ...group, value: { parent: room, kind: SITE } }]);
  assert.equal((await page.waiting()).length, 1);
  await phone.sync();
  assert.equal(server.conflicts(), 1, 'two who showed nothing: a person settles it');
});

test('a form that showed nothing of a record that is there changes it, as before', async () => {
  const phone = await newPhone(new FakeServer());
  const { room } = await phone.room();
  const group = groupIn(room);
  await phone.save(group);
  await phone.save(groupIn(room));
  await phone.save({ ...group, value: { parent: room, kind: SITE } });
  const view = await phone.storage.get(group.record);
  assert.equal(view.facets.identity.kind, SITE);
  assert.deepEqual(await counters(phone.storage), [1, 2, 3, 4, 5]);
  await rightRows(phone.storage);
});

test("an app that is killed after a save, before the room's row has it, counts it when it is opened again", async () => {
  const { phone, room } = await phoneWithRoom();
  await phone.save(groupIn(room));
  assert.equal(phone.storage.rooms.lacking, 1);
  await killed(phone.storage);
  const page = await pageOf(phone);
  assert.equal((await page.summaries())[0].groups, 1);
  await rightRows(page);
});

test('a page that counts all anew does not make another page count its last saves twice', async () => {
  const { phone, room } = await phoneWithRoom();
  await phone.save(groupIn(room));
  const other = await pageOf(phone);
  assert.equal((await other.summaries())[0].groups, 1);
  assert.equal((await phone.storage.summaries())[0].groups, 1);
  await phone.save(groupIn(room));
  assert.equal((await phone.storage.summaries())[0].groups, 2);
  const third = await pageOf(phone);
  assert.ok(!(await third.syncState()).recount, 'nothing is left to count');
});

test('a group that moved is in its new room at the first look, and what is saved below it by another page too', async () => {
  const { phone, room } = await phoneWithRoom();
  const { room: other } = await phone.room('Other');
  const group = groupIn(room);
  await phone.save(group);
  const page = await pageOf(phone);
  await page.save([readingIn(group.record)]);
  await page.summaries();
  await phone.set(group.record, 'group', 'identity', { parent: other });
  await rightRows(phone.storage);
  await page.save([readingIn(group.record)]);
  await rightRows(page);
});

test('what belongs to no room has nothing counted anew', async () => {
  const { phone } = await phoneWithRoom();
  const before = (await phone.storage.phone()).recounts;
  await phone.save({
    record: crypto.randomUUID(),
    type: 'kind',
    facet: 'identity',
    value: { parent: SITE, mark: 'K1' },
    seen: null,
  });
  await phone.storage.summaries();
  await phone.storage.summaries();
  assert.equal((await phone.storage.phone()).recounts, before);
});

test('whatever two pages save, sync, undo and remove, and whenever one is killed, the rows say what the records say', async () => {
  for (let seed = 1; seed <= HISTORIES; seed++) await history(dice(seed), seed);
});

async function history(chance, seed) {
  const { phone, room: first } = await phoneWithRoom();
  const rooms = [first];
  const pages = [phone.storage, await pageOf(phone)];
  const saved = [];
  const steps = {
    group: async (page) => saved.push(...(await page.save([groupIn(chance.pick(rooms))]))),
    reading: async (page) => {
      const [group] = await page.all('group');
      if (group) saved.push(...(await page.save([readingIn(group.id)])));
    },
    room: async (page) => {
      const [floor, room] = [crypto.randomUUID(), crypto.randomUUID()];
      await page.save([
        { record: floor, type: 'floor', facet: 'identity', value: { parent: SITE, name: 'F' }, seen: null },
        { record: room, type: 'room', facet: 'identity', value: { parent: floor, name: 'R' }, seen: null },
      ]);
      rooms.push(room);
    },
    move: async (page) => {
      const [group] = await page.all('group');
      if (group)
        await page.save([
          {
            record: group.id,
            type: 'group',
            facet: 'identity',
            value: { parent: chance.pick(rooms) },
            seen: group.seen.identity,
          },
        ]);
    },
    remove: async (page) => {
      const [group] = await page.all('group');
      if (group) await page.remove(group.id);
    },
    undo: (page) => page.undo(),
    look: (page) => page.summaries(),
    sync: () => phone.sync(),
    kill: async () => {
      await killed(pages[1]);
      pages[1] = await pageOf(phone);
    },
  };
  for (let step = 0; step < STEPS; step++) await steps[chance.pick(Object.keys(steps))](chance.pick(pages));
  // As a page does before it tells the others.
  for (const page of pages) await page.rooms.bringUp();
  for (const page of pages)
    await rightRows(page).catch((error) => assert.fail(`seed ${seed}: ${error.message}`));
  assert.equal(new Set(saved).size, saved.length, `seed ${seed}: every operation has an id of its own`);
}
