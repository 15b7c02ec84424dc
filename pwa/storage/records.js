// A record on the phone: what the server has, what this phone makes of it, and what screens are shown. Pure.

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').RecordView} RecordView */

export const IDENTITY = 'identity';
export const LIFE = 'life';

/**
 * A record that nobody has written to yet.
 *
 * @param {string} id @param {string} type
 * @returns {LocalRecord}
 */
export function emptyRecord(id, type) {
  return {
    id,
    type,
    seq: 0,
    facets: {},
    conflicts: [],
    mine: {},
    settling: {},
    parent: null,
    removed: false,
    refs: [],
    type_refs: [],
  };
}

/**
 * A facet as it is shown: this phone's change, else the server's value.
 *
 * @param {LocalRecord} record @param {string} facet
 */
export const shown = (record, facet) => record.mine[facet] ?? record.facets[facet];

/** Above every sequence. */
const NOT_TAKEN_YET = 2 ** 52;

/** Place of an operation among those of its phone. @param {string} op */
const counterOf = (op) => Number(op.split('.')[2]) || 0;

/** Whether nothing is left of it. @param {LocalRecord} record */
export const isNothing = (record) =>
  Object.keys(record.facets).length === 0 && Object.keys(record.mine).length === 0;

/**
 * Where a type's values point: [facet, field] of every reference, and of the field that it is looked up by.
 *
 * @typedef {{refs: Record<string, Array<[string, string]>>, lookups: Record<string, [string, string]>}} Pointers
 */

/** As records of a type that refer to one are indexed. @param {string} type @param {string} ref */
export const typeRef = (type, ref) => `${ref} ${type}`;

/**
 * Bring what is indexed up to date with what is shown.
 *
 * @param {LocalRecord} record
 * @param {Pointers} pointers
 */
export function reindex(record, pointers) {
  record.parent = shown(record, IDENTITY)?.value.parent ?? null;
  record.removed = shown(record, LIFE)?.value.removed ?? false;
  const refs = (pointers.refs[record.type] ?? []).map(([facet, field]) => shown(record, facet)?.value[field]);
  record.refs = [...new Set(refs.filter((ref) => typeof ref === 'string'))];
  record.type_refs = record.refs.map((ref) => typeRef(record.type, ref));
  const [facet, field] = pointers.lookups[record.type] ?? [];
  const key = facet && field ? shown(record, facet)?.value[field] : undefined;
  if (typeof key === 'string') record.lookup = key;
  else delete record.lookup;
  if (openConflicts(record).length > 0) record.in_conflict = 1;
  else delete record.in_conflict;
}

/** Conflicts that are shown: those not named by an own operation on its way. @param {LocalRecord} record */
export const openConflicts = (record) =>
  record.conflicts.filter((conflict) => !(conflict.id in record.settling));

/** What is settled at once: facets in conflict, however many values each has. @param {LocalRecord} record */
export const facetsInConflict = (record) => new Set(openConflicts(record).map(({ facet }) => facet)).size;

/** How many facets of all records are in conflict; only those records are read. @param {Tx} tx over records @returns {Promise<number>} */
export async function countConflicts(tx) {
  const inConflict = await tx.objectStore('records').index('in_conflict').getAll();
  return inConflict.reduce((sum, record) => sum + facetsInConflict(record), 0);
}

/**
 * A record as rules and screens see it.
 *
 * @param {LocalRecord} record
 * @returns {RecordView}
 */
export function viewOf(record) {
  /** @type {RecordView} */
  const view = {
    id: record.id,
    type: record.type,
    parent: record.parent,
    removed: record.removed,
    facets: {},
    conflicts: openConflicts(record).map(({ id, facet, by, via, at, value, kind }) => ({
      id,
      facet,
      by,
      ...(via && { via }),
      at,
      value,
      kind,
    })),
    mine: {},
    seen: {},
    refused: {},
    by: {},
    via: {},
    at: {},
    order: {},
    seqs: {},
  };
  for (const facet of new Set([...Object.keys(record.facets), ...Object.keys(record.mine)])) {
    const stored = shown(record, facet);
    const mine = record.mine[facet];
    if (facet !== LIFE) view.facets[facet] = stored.value;
    view.seen[facet] = stored.op;
    view.by[facet] = stored.by;
    const { via } = /** @type {{via?: string}} */ (stored);
    if (via && view.via) view.via[facet] = via;
    view.at[facet] = stored.at;
    view.order[facet] = mine ? NOT_TAKEN_YET + counterOf(mine.op) : record.facets[facet].seq;
    if (mine) view.mine[facet] = true;
    else view.seqs[facet] = record.facets[facet]?.seq ?? 0;
    if (mine?.refused) view.refused[facet] = { op: mine.op, ...mine.refused };
  }
  return view;
}
