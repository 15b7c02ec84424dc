// What spec 1 wrote as English text is read as codes: the phone's twin, and its database and outbox of that time.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import '../sync/support/phone.js';
import { upgrade } from '../../pwa/storage/schema.js';
import { SiteStorage } from '../../pwa/storage/site_storage.js';
import { inCodes } from '../../pwa/storage/spec_1.js';
import { openDB } from '../../pwa/vendor/idb.js';

const { cases } = JSON.parse(readFileSync(new URL('../vectors/spec_1.json', import.meta.url), 'utf8'));
const POINTERS = { refs: {}, lookups: {} };

test('every value of then has the code of now, and a code stays as it is', () => {
  assert.ok(cases.length > 200);
  assert.deepEqual(
    cases.map((each) => inCodes(each.type, each.facet, each.then)),
    cases.map((each) => each.now),
  );
  assert.deepEqual(
    cases.map((each) => inCodes(each.type, each.facet, each.now)),
    cases.map((each) => each.now),
  );
});

/** A phone's database of version 3: a kind that came, a change of it that waits, and a conflict. */
async function phoneOfThen(database) {
  const db = await openDB(database, 3, { upgrade: (db, _from, _to, tx) => upgrade(db, 0, tx, 3) });
  const feeds = (text) => ({ feeds: text, earth: 'not seen' });
  const op = {
    id: 'd.e.1',
    by: 'p',
    record: 'k',
    type: 'kind',
    facet: 'wiring',
    kind: 'set',
    seen: 'o',
    from: feeds('one'),
    to: feeds('two'),
    settles: [],
    device_time: '',
    spec: 1,
  };
  await db.put('records', {
    id: 'k',
    type: 'kind',
    seq: 4,
    parent: 's',
    removed: false,
    refs: [],
    settling: {},
    facets: {
      wiring: { op: 'o', seq: 4, by: 'q', at: '', value: feeds('not seen') },
      lamps: { op: 'l', seq: 3, by: 'q', at: '', value: { nominal_ft: '4 ft', rows: 2 } },
    },
    conflicts: [{ id: 'x', facet: 'wiring', by: 'r', at: '', value: feeds('not seen') }],
    mine: { wiring: { op: op.id, by: 'p', at: '', value: feeds('two') } },
  });
  await db.put('outbox', { n: 1, id: op.id, record: 'k', op });
  db.close();
  return op;
}

test('a phone of then shows codes after the update, and its outbox is untouched', async () => {
  const op = await phoneOfThen('of-then');
  const storage = await SiteStorage.open({
    site: 's',
    person: 'p',
    pointers: POINTERS,
    spec: 2,
    database: 'of-then',
  });
  const view = await storage.get('k');
  assert.deepEqual(view.facets, {
    wiring: { feeds: 'two', earth: 'not-seen' },
    lamps: { nominal_ft: '4-ft', rows: 2 },
  });
  assert.deepEqual(
    view.conflicts.map(({ value }) => value),
    [{ feeds: 'not-seen', earth: 'not-seen' }],
  );
  const [row] = await storage.run(['outbox'], 'readonly', (tx) => tx.objectStore('outbox').getAll());
  assert.deepEqual(row.op, op);
});
