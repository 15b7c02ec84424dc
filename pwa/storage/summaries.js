// One row per room: how much is in it, what is not sent, what is in conflict. Kept up with every change, so that the walk opens at once.

import { facetsInConflict, openConflicts, shown } from './records.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').Summary} Summary */
/** @typedef {(id: string) => Promise<LocalRecord | undefined>} Get */

const ROOM = 'room';
const GROUP = 'group';
const DEEPEST = 6;
/** Records that belong where they point, not where they hang: type -> [facet, field]. @type {Record<string, [string, string]>} */
const ANCHORS = {
  photo: ['identity', 'subject'],
  label: ['binding', 'group'],
  question: ['identity', 'subject'],
};

const NUMBERS = /** @type {const} */ (['groups', 'fixtures', 'unsent', 'conflicts', 'photos_unsent']);

/** @param {string} room @returns {Summary} */
const emptySummary = (room) => ({
  room,
  floor: null,
  groups: 0,
  fixtures: 0,
  unsent: 0,
  conflicts: 0,
  photos_unsent: 0,
});

/**
 * Where a record belongs: the next record on the way to its room.
 *
 * @param {LocalRecord} record
 */
export function anchorOf(record) {
  const [facet, field] = ANCHORS[record.type] ?? [];
  const pointed = facet && field ? shown(record, facet)?.value[field] : undefined;
  return pointed ?? record.parent;
}

/**
 * What one record adds to its room's row.
 *
 * @param {LocalRecord} record
 * @param {number} photosUnsent photos of this record that have not arrived
 */
export function share(record, photosUnsent = 0) {
  const group = record.type === GROUP && !record.removed;
  return {
    groups: group ? 1 : 0,
    fixtures: group ? Number(shown(record, 'count')?.value.count ?? 0) : 0,
    unsent: Object.keys(record.mine).length,
    conflicts: facetsInConflict(record),
    photos_unsent: photosUnsent,
  };
}

/**
 * The room of a record; null if it has none, undefined if the way there is not on this phone yet.
 *
 * @param {string | null | undefined} from the record itself, or its anchor
 * @param {Get} get
 * @returns {Promise<LocalRecord | null | undefined>}
 */
export async function roomFrom(from, get) {
  let at = from;
  for (let step = 0; at && step < DEEPEST; step++) {
    const record = await get(at);
    if (!record || record.type === ROOM) return record;
    at = anchorOf(record);
  }
  return null;
}

/**
 * Add to a row, make it or drop it.
 *
 * @param {Summary | undefined} row
 * @param {LocalRecord} room
 * @param {Partial<Record<(typeof NUMBERS)[number], number>>} change
 * @returns {Summary | null} null when the room is gone
 */
export function adjusted(row, room, change) {
  if (room.removed && openConflicts(room).length === 0) return null;
  return withChange({ ...(row ?? emptySummary(room.id)), floor: room.parent }, change);
}

/**
 * A row with something added.
 *
 * @param {Summary} row @param {Partial<Record<(typeof NUMBERS)[number], number>>} change
 * @returns {Summary}
 */
export function withChange(row, change) {
  const next = { ...row };
  for (const name of NUMBERS) next[name] += change[name] ?? 0;
  return next;
}

/**
 * All rows, counted anew.
 *
 * @param {LocalRecord[]} records every record of the site
 * @param {Map<string, number>} photosUnsent by photo record
 * @returns {Summary[]}
 */
export function countAll(records, photosUnsent) {
  const byId = new Map(records.map((record) => [record.id, record]));
  /** @type {Map<string, Summary>} */
  const rows = new Map();
  for (const record of records) {
    if (record.type !== ROOM) continue;
    const row = adjusted(undefined, record, {});
    if (row) rows.set(record.id, row);
  }
  for (const record of records) {
    const row = rows.get(roomIn(record, byId) ?? '');
    const added = share(record, photosUnsent.get(record.id));
    if (row) for (const name of NUMBERS) row[name] += added[name];
  }
  return [...rows.values()];
}

/** @param {LocalRecord} record @param {Map<string, LocalRecord>} byId */
function roomIn(record, byId) {
  /** @type {LocalRecord | undefined} */
  let at = record;
  for (let step = 0; at && step < DEEPEST; step++) {
    if (at.type === ROOM) return at.id;
    at = byId.get(anchorOf(at) ?? '');
  }
  return null;
}
