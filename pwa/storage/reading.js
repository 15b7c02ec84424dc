// What is read of a site's records: one, those below it, of a type, that refer to it, found by a key.

import { typeRef, viewOf } from './records.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').RecordView} RecordView */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

/**
 * What is asked of the records: one by its id; live ones below a record, of a type, that refer to a record, found by a key.
 * @typedef {{of: 'id' | 'below' | 'type' | 'refs' | 'lookup', id?: string, type?: string}} Question `id`: the record it is asked about; the key of a lookup
 */

const AFTER_ALL_TEXT = '\uffff';

/** @param {SiteStorage} storage @param {string} id @returns {Promise<RecordView | undefined>} */
export async function get(storage, id) {
  const record = await storage.run(['records'], 'readonly', (tx) => tx.objectStore('records').get(id));
  return record && viewOf(record);
}

/**
 * Live records that answer a question.
 *
 * @param {SiteStorage} storage @param {Question} question @returns {Promise<RecordView[]>}
 */
export async function viewsOf(storage, question) {
  const found = await storage.run(['records'], 'readonly', (tx) => READ[question.of](tx, question));
  return found.map(viewOf);
}

/**
 * Answers to several questions, read in one transaction.
 *
 * @param {SiteStorage} storage @param {Question[]} questions @returns {Promise<LocalRecord[][]>}
 */
export const answersTo = (storage, questions) =>
  storage.run(['records'], 'readonly', (tx) =>
    Promise.all(questions.map((question) => READ[question.of](tx, question))),
  );

/** Every record as it is kept. @param {SiteStorage} storage @returns {Promise<LocalRecord[]>} */
export const kept = (storage) =>
  storage.run(['records'], 'readonly', (tx) => tx.objectStore('records').getAll());

/**
 * Records in the order of their ids, some at a time.
 *
 * @param {SiteStorage} storage @param {string} after id; those above it @param {number} most
 * @returns {Promise<RecordView[]>} as many as `most`, unless these are the last; removed ones too
 */
export async function slice(storage, after, most) {
  const range = IDBKeyRange.lowerBound(after, true);
  const found = await storage.run(['records'], 'readonly', (tx) =>
    tx.objectStore('records').getAll(range, most),
  );
  return found.map(viewOf);
}

/** @param {LocalRecord[]} records */
const live = (records) => records.filter((record) => !record.removed);

/** @type {Record<Question['of'], (tx: Tx, question: Question) => Promise<LocalRecord[]>>} */
const READ = {
  id: async (tx, { id = '' }) => [await tx.objectStore('records').get(id)].filter(Boolean),
  below: async (tx, { id = '', type }) => live(await indexed(tx, 'parent_type', belowRange(id, type))),
  type: async (tx, { type = '' }) => live(await indexed(tx, 'type', type)),
  refs: async (tx, { id = '', type }) => live(await indexed(tx, ...referringTo(id, type))),
  lookup: async (tx, { id = '', type = '' }) => live(await indexed(tx, 'lookup', [type, id])),
};

/** @param {Tx} tx @param {string} index @param {IDBKeyRange | string | string[]} range @returns {Promise<LocalRecord[]>} */
const indexed = (tx, index, range) => tx.objectStore('records').index(index).getAll(range);

/** Which index tells what refers to a record, and where in it. A kind has thousands of groups and two photos. @param {string} id @param {string} [type] @returns {[string, string]} */
const referringTo = (id, type) => (type ? ['type_refs', typeRef(type, id)] : ['refs', id]);

/** @param {string} parent @param {string} [type] */
const belowRange = (parent, type) =>
  type ? IDBKeyRange.only([parent, type]) : IDBKeyRange.bound([parent], [parent, AFTER_ALL_TEXT]);
