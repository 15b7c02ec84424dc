// The database of one site and one person on this phone. A migration adds; it never touches an operation already written.

export const VERSION = 3;
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
];

/** @param {Database} db @param {number} from @param {UpgradeTx} tx the upgrade's own transaction */
export function upgrade(db, from, tx) {
  for (const step of STEPS.slice(from)) step(db, tx);
}
