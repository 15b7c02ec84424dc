// The database of one site and one person on this phone. A migration adds; it never touches an operation already written.

import { plainStore } from './connection.js';
import { SYNC } from './meta.js';
import { inCodes } from './spec_1.js';

export const VERSION = 6;
export const STORES = [
  'records', 'outbox', 'refused', 'answered', 'answers', 'photos', 'photo_bytes', 'summaries', 'staging', 'recovered', 'meta',
]; // biome-ignore format: one line says it

/** @param {string} site @param {string} person */
export const databaseName = (site, person) => `spanwalk:${site}:${person}`;

/** @type {Array<(db: Database, tx: UpgradeTx) => void>} Step i makes version i + 1 of version i. */
const STEPS = [
  (db) => {
    const records = db.createObjectStore('records', { keyPath: 'id' });
    records.createIndex('parent_type', ['parent', 'type']);
    records.createIndex('type', 'type');
    records.createIndex('lookup', ['type', 'lookup']);
    records.createIndex('refs', 'refs', { multiEntry: true });
    db.createObjectStore('outbox', { keyPath: 'n' });
    db.createObjectStore('answered', { keyPath: 'n' });
    const refused = db.createObjectStore('refused', { keyPath: 'id' });
    refused.createIndex('record', 'record');
    db.createObjectStore('photos', { keyPath: 'sha256' });
    db.createObjectStore('photo_bytes');
    db.createObjectStore('summaries', { keyPath: 'room' });
    db.createObjectStore('staging', { keyPath: 'id' });
    db.createObjectStore('recovered', { autoIncrement: true });
    db.createObjectStore('meta');
  },
  // Conflicts are counted for the sync line without reading the site.
  (_db, tx) => tx.objectStore('records').createIndex('in_conflict', 'in_conflict'),
  // What was answered stays in the outbox; `answered` is what an older app had moved there.
  (db) => db.createObjectStore('answers', { keyPath: 'n' }),
  // Choices are codes: what spec 1 wrote as text is told in codes, but for the operations themselves.
  (_db, tx) => {
    for (const name of ['records', 'staging']) eachRow(tx, name, recordInCodes);
    eachRow(tx, 'recovered', (/** @type {import('./types.js').Recovered} */ row) => ({
      ...row,
      value: inCodes(row.type, row.facet, row.value),
    }));
    // The rooms' rows say how far each room is.
    recountRooms(tx);
  },
  // Photos of a kind are found without reading its groups. Records are indexed anew when the app next opens.
  (_db, tx) => tx.objectStore('records').createIndex('type_refs', 'type_refs', { multiEntry: true }),
  // The rooms' rows count a conflict once, however many entered something else.
  (_db, tx) => recountRooms(tx),
];

/** All rooms' rows are counted anew when the app next opens. @param {UpgradeTx} tx */
function recountRooms(tx) {
  const meta = plainStore(tx, 'meta');
  const asked = meta.get(SYNC);
  asked.onsuccess = () => asked.result && meta.put({ ...asked.result, recount: true }, SYNC);
}

/** @param {Database} db @param {number} from @param {UpgradeTx} tx the upgrade's own transaction @param {number} [to] the version that it makes */
export function upgrade(db, from, tx, to = VERSION) {
  for (const step of STEPS.slice(from, to)) step(db, tx);
}

/**
 * Write every row of a store anew.
 *
 * @template Row
 * @param {UpgradeTx} tx @param {string} name @param {(row: Row, key: IDBValidKey) => Row} change
 */
function eachRow(tx, name, change) {
  const asked = plainStore(tx, name).openCursor();
  asked.onsuccess = () => {
    const cursor = asked.result;
    if (!cursor) return;
    cursor.update(change(cursor.value, cursor.key));
    cursor.continue();
  };
}

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {Partial<LocalRecord> & Pick<LocalRecord, 'type'>} RecordThere A record, or a state of the server's. */

/**
 * What spec 1 wrote as text, in codes.
 *
 * @param {RecordThere} record @returns {RecordThere}
 */
function recordInCodes(record) {
  const { type } = record;
  /** @template {{value: Value}} T @param {string} facet @param {T} stored @returns {T} */
  const told = (facet, stored) =>
    stored?.value ? { ...stored, value: inCodes(type, facet, stored.value) } : stored;
  /** @template {{value: Value}} T @param {Record<string, T>} [facets] */
  const allOf = (facets = {}) =>
    Object.fromEntries(Object.entries(facets).map(([facet, stored]) => [facet, told(facet, stored)]));
  return {
    ...record,
    facets: allOf(record.facets),
    ...(record.mine && { mine: allOf(record.mine) }),
    conflicts: (record.conflicts ?? []).map((each) => told(each.facet, each)),
  };
}
