// Which records and rooms' rows a transaction has written: told when it is done, so that what was read of them is put right.

/**
 * What is written of one row: null where it is there no more. `before`: where it was found until then, null where it was not.
 *
 * @typedef {Pick<import('./types.js').LocalRecord, 'type' | 'parent' | 'refs' | 'lookup'>} FoundBy
 * @typedef {{id: string, before: FoundBy | null, after: import('./types.js').LocalRecord | null}} Touched
 * @typedef {{room: string, after: import('./types.js').Summary | null}} RowTouched
 * @typedef {{records: Touched[] | null, rows: RowTouched[] | null}} Writing `null`: whatever there is may have been written
 */

/** @type {WeakMap<object, {records?: Touched[], rows?: RowTouched[]}>} */
const noted = new WeakMap();

/** @param {Tx} tx */
function notesOf(tx) {
  const stored = noted.get(tx) ?? {};
  noted.set(tx, stored);
  return stored;
}

/** All that a transaction writes of the records is among what is noted; none of it where nothing is. @param {Tx} tx @param {Touched[]} touched */
export function noteRecords(tx, touched) {
  const notes = notesOf(tx);
  notes.records = [...(notes.records ?? []), ...touched];
}

/** The same of the rooms' rows. @param {Tx} tx @param {RowTouched[]} touched */
export function noteRows(tx, touched) {
  const notes = notesOf(tx);
  notes.rows = [...(notes.rows ?? []), ...touched];
}

/**
 * What a finished transaction has written.
 *
 * @param {Tx} tx @param {string[]} stores @param {'readonly' | 'readwrite'} mode
 * @returns {Writing | null} null: nothing of the records or the rooms' rows
 */
export function writingOf(tx, stores, mode) {
  const [records, rows] = [stores.includes('records'), stores.includes('summaries')];
  if (mode === 'readonly' || !(records || rows)) return null;
  const notes = noted.get(tx) ?? {};
  return {
    records: records ? (notes.records ?? null) : [],
    rows: rows ? (notes.rows ?? null) : [],
  };
}
