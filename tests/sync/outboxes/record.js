// Keeps the database of a phone that has not sent anything, as one version of the phone's code left it:
//   git worktree add /tmp/released COMMIT
//   node tests/sync/outboxes/record.js /tmp/released/pwa COUNT | gzip -9n > tests/sync/outboxes/NAME.json.gz
// Site and person have fixed ids, which the test puts its own in place of. Ids are counted, so that the file stays small.

import '../../../pwa/node_modules/fake-indexeddb/auto/index.mjs';
import { createHash } from 'node:crypto';
import { resolve } from 'node:path';

const [pwa, count] = [resolve(process.argv[2]), Number(process.argv[3])];
const { SiteStorage } = await import(`${pwa}/storage/site_storage.js`);
const { STORES } = await import(`${pwa}/storage/schema.js`);

const SITE = '00000000-0000-4000-8000-0000000051fe';
const PERSON = '00000000-0000-4000-8000-00000000f00d';
const POINTERS = {
  refs: { group: [['identity', 'kind']], photo: [['identity', 'subject']], label: [['binding', 'group']] },
  lookups: { label: ['identity', 'code'] },
};
/** A grey picture of one pixel, which every decoder reads. */
const JPEG = Buffer.from(
  '/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDAAgGBgcGBQgHBwcJCQgKDBQNDAsLDBkSEw8UHRofHh0aHBwgJC4nICIsIxwcKDcpLDAxNDQ0Hyc5PTgyPC4zNDL/wAALCAABAAEBAREA/8QAHwAAAQUBAQEBAQEAAAAAAAAAAAECAwQFBgcICQoL/8QAtRAAAgEDAwIEAwUFBAQAAAF9AQIDAAQRBRIhMUEGE1FhByJxFDKBkaEII0KxwRVS0fAkM2JyggkKFhcYGRolJicoKSo0NTY3ODk6Q0RFRkdISUpTVFVWV1hZWmNkZWZnaGlqc3R1dnd4eXqDhIWGh4iJipKTlJWWl5iZmqKjpKWmp6ipqrKztLW2t7i5usLDxMXGx8jJytLT1NXW19jZ2uHi4+Tl5ufo6erx8vP09fb3+Pn6/9oACAEBAAA/APn+v//Z',
  'base64',
);

let made = 0;
const id = () => `00000000-0000-4000-8000-${(++made + 2 ** 40).toString(16).padStart(12, '0')}`;
let minutes = 0;
const now = () => new Date(Date.UTC(2026, 10, 25, 7, ++minutes % 600)).toISOString();

const storage = await SiteStorage.open({ site: SITE, person: PERSON, pointers: POINTERS, spec: 1, now });
const waiting = () => storage.counts().then(({ operations }) => operations);
const set = async (record, type, facet, value) => {
  const held = await storage.get(record);
  await storage.save([{ record, type, facet, value, seen: held?.seen[facet] ?? null }]);
  return record;
};

async function photoOf(subject) {
  const comment = new TextEncoder().encode(`photo ${made}`);
  const bytes = new Uint8Array([
    ...JPEG.subarray(0, 2),
    0xff,
    0xfe,
    0,
    comment.length + 2,
    ...comment,
    ...JPEG.subarray(2),
  ]);
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  const record = id();
  const value = {
    parent: SITE,
    subject,
    purpose: 'sockets',
    sha256,
    bytes: bytes.length,
    width_px: 1,
    height_px: 1,
    taken_at: now(),
  };
  const row = { sha256, record, bytes: bytes.length, at: now(), received: false };
  await storage.save([{ record, type: 'photo', facet: 'identity', value, seen: null }], {
    row,
    bytes: bytes.buffer,
  });
}

const kinds = [];
for (const mark of ['K1', 'K2', 'K3', 'K4']) {
  const kind = await set(id(), 'kind', 'identity', { parent: SITE, mark, title: `Strip ${mark}` });
  await set(kind, 'kind', 'housing', { body: 'strip', magnet_holds: 'yes', height_ticks: 12800 });
  await set(kind, 'kind', 'lamps', {
    fitted: 'fluorescent',
    diameter: 'T8',
    nominal_ft: '4 ft',
    lamp_w: 32,
    rows: 2,
    lamps_end_to_end: 1,
  });
  kinds.push(kind);
}

const rooms = [];
for (let number = 0; (await waiting()) < count - 40; number++) {
  const floor =
    number % 25 === 0
      ? await set(id(), 'floor', 'identity', {
          parent: SITE,
          name: `Level ${number / 25}`,
          order: number / 25,
        })
      : rooms.at(-1).floor;
  const room = await set(id(), 'room', 'identity', {
    parent: floor,
    number: `R${number}`,
    name: `Store ${number}`,
  });
  await set(room, 'room', 'ceiling', { ceiling: 'metal deck', access: 'ladder', note: `${number} rungs` });
  await set(room, 'room', 'hours', { hours_year: 2000 + number });
  const groups = [];
  for (const kind of kinds.slice(0, 1 + (number % 3))) {
    const group = await set(id(), 'group', 'identity', { parent: room, kind });
    await set(group, 'group', 'count', { count: 6 + (number % 9), dark_lamps: number % 3, sure: 'yes' });
    for (let position = 1; position <= 4; position++)
      await set(id(), 'cavity_reading', 'identity', {
        parent: group,
        position,
        row: 1,
        cavity: 1,
        length_ticks: 383540 + 127 * (number % 30),
        as_entered: '47 3/16',
        instrument: 'US tape',
      });
    groups.push(group);
  }
  if (number % 40 === 0) await photoOf(groups[0]);
  // Of a second mind: an earlier room again, one room removed with all in it, one of these put back, a save taken back.
  const earlier = number > 5 && (await storage.get(rooms[number - 5].room));
  if (earlier && !earlier.removed)
    await set(earlier.id, 'room', 'hours', { hours_year: 1000 + number, how_known: 'owner says' });
  if (number % 30 === 29) await storage.remove(rooms[number - 3].room);
  if (number % 60 === 59) await storage.restore(rooms[number - 3].room);
  if (number % 50 === 49) await storage.undo();
  // A request whose answer never came.
  if (number === 20) await storage.markSent(await storage.waiting(300));
  rooms.push({ floor, room });
}
while ((await waiting()) < count)
  await set(id(), 'lux_reading', 'identity', {
    parent: rooms[0].room,
    point: `P${made}`,
    lux: 210.5,
    when: 'before',
  });

const database = await storage.connection.open();
const kept = { version: database.version, stores: [] };
for (const store of STORES) {
  const tx = database.transaction([store]);
  const { keyPath, autoIncrement, indexNames } = tx.objectStore(store);
  const indexes = [...indexNames].map((name) => {
    const { keyPath: path, unique, multiEntry } = tx.objectStore(store).index(name);
    return { name, keyPath: path, unique, multiEntry };
  });
  kept.stores.push({ store, keyPath, autoIncrement, indexes });
  const [keys, values] = [await tx.objectStore(store).getAllKeys(), await tx.objectStore(store).getAll()];
  const plain = (value) =>
    value instanceof ArrayBuffer ? { base64: Buffer.from(value).toString('base64') } : value;
  kept[store] = values.map((value, at) => ({ key: keys[at], value: plain(value) }));
}
process.stdout.write(JSON.stringify(kept), () => process.exit(0));
