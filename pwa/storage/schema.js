// The database of one site and one person on this phone. A migration adds; it never touches an operation already written.

export const VERSION = 3;
export const STORES = [
  'records', 'outbox', 'refused', 'answered', 'photos', 'photo_bytes', 'summaries', 'staging', 'recovered', 'meta',
]; // biome-ignore format: one line says it

/** @param {string} site @param {string} person */
export const databaseName = (site, person) => `spanwalk:${site}:${person}`;

/** @type {Array<(db: any, tx: any) => void>} Step i makes version i + 1 of version i. */
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
  // Answers are kept in runs from here on: a page of an older app asks to be loaded again.
  () => {},
];

/** @param {any} db @param {number} from @param {any} tx the upgrade's own transaction */
export function upgrade(db, from, tx) {
  for (const step of STEPS.slice(from)) step(db, tx);
}
