// A conversion beside what the records say now, and one thing that is otherwise. Twin: server/spanwalk/rules/since_release/seen.py.

import * as constants from '../constants.js';
import { facet } from '../survey.js';

/** @typedef {import('../survey.js').Survey} Survey */
/** @template {string} [T=string] @typedef {import('../survey.js').ViewRecord<T> & {by?: Record<string, string>, at?: Record<string, string>, seqs?: Record<string, number>}} ViewRecord */
/**
 * One thing that is otherwise than when it was released; see the twin.
 * @typedef {{fact: string, weight: string, before: unknown, now: unknown, about?: string, by?: string, at?: string}} Change
 */
/** @typedef {{by?: string, at?: string}} Said */
/** @typedef {Value} Row a facet's value */
/** @typedef {keyof FrozenRecords} RecordName */
/**
 * A conversion beside what the records say now; see the twin.
 * @typedef {{survey: Survey, facts: FrozenFacts, released: Record<string, FrozenItem>, records: {[N in RecordName]: ViewRecord<N>},
 *   tables: Reference, position: number | null, head: number}} Seen
 */

export const STOP = constants.STOP;
export const LOOK = constants.LOOK;
const NOT_SAID = ['', 'not-seen', 'not-said', 'as-the-kind'];
export const PARTS = /** @type {const} */ (['bars', 'drivers', 'packs', 'others']);
const ITEM_FACETS = /** @type {const} */ (['bar', 'driver', 'accessory']);
export const SIDES = constants.SIDES;

/** A value; null where it says that nothing was seen or said. @template V @param {V} value @returns {V | null} */
export const plain = (value) =>
  value === undefined ||
  NOT_SAID.includes(/** @type {string} */ (/** @type {unknown} */ (value))) ||
  (Array.isArray(value) && value.length === 0)
    ? null
    : value;

/** @param {unknown} a @param {unknown} b */
export const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

/** Which facet says what an item is. @param {FrozenItem | Record<string, Value>} item a record's facets, or what a release froze of it */
export const facetOfItem = (item) =>
  ITEM_FACETS.find((name) => item[name] && Object.keys(item[name] ?? {}).length > 0);

/** @param {Seen} seen @param {RecordName} record @param {string} name @param {string} field */
export const before = (seen, record, name, field) => plain(seen.facts[record]?.[name]?.[field]);

/** @param {Seen} seen @param {RecordName} record @param {string} name @param {string} field */
export const now = (seen, record, name, field) =>
  plain(facet(/** @type {ViewRecord} */ (seen.records[record]), name)[field]);

/** The facet of a catalogue item as it is now, as it was released where it is there no more. @param {Seen} seen @param {string} id @returns {Value} */
export function itemOf(seen, id) {
  const record = seen.survey.get(id);
  const name = record && facetOfItem(record.facets);
  if (record && name) return facet(record, name);
  const released = seen.released[id] ?? {};
  return released[facetOfItem(released) ?? 'bar'] ?? {};
}

/** Ids of the items that were released; packs only where one hangs. @param {Seen} seen @param {Array<typeof PARTS[number]>} parts @returns {string[]} */
export function itemsOf(seen, ...parts) {
  const packs = before(seen, 'group', 'duty', 'emergency_positions') ?? [];
  const hasPack = seen.position === null || packs.includes(seen.position);
  return parts.flatMap((part) => (part === 'packs' && !hasPack ? [] : [...new Set(seen.facts[part] ?? [])]));
}

/** Whose word a facet is, and when, as far as it is known. @param {ViewRecord} record @param {string} name @returns {Said} */
export function saidBy(record, name) {
  const [by, at] = [record.by?.[name], record.at?.[name]];
  return { ...(by && { by }), ...(at && { at }) };
}

/** @param {string} fact @param {string} weight @param {unknown} from @param {unknown} to @param {Said} [said] @param {string} [about] @returns {Change} */
export const change = (fact, weight, from, to, said = {}, about = '') => ({
  fact,
  weight,
  before: from,
  now: to,
  ...(about && { about }),
  ...said,
});
