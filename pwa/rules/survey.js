// What the records of a site say, looked up by id, parent and type. Twin: server/spanwalk/rules/survey.py.

import * as constants from './constants.js';
import { Above } from './inherited.js';

/** @typedef {{id: string, facet: string, by: string, at: string, value: Value}} Conflict */
/**
 * A record as rules and screens see it.
 * @template {string} [T=string]
 * @typedef {{id: string, type: T, parent: string | null, removed: boolean,
 *   facets: import('../records.d.ts').FacetsIn<T>, conflicts: Conflict[]}} ViewRecord
 */

const NOT_SEEN = constants.NOT_SEEN;
const NOTHING_TO_CONVERT = constants.NOTHING_TO_CONVERT;
/** Order of what has no place in the walk: after everything that has one. */
const LAST = constants.LAST_PLACE;

/** @param {string} a @param {string} b */
export const inOrder = (a, b) => (a < b ? -1 : a > b ? 1 : 0);

/** The view records of one site, indexed. */
export class Survey {
  /** @type {ViewRecord<'group'>[] | null} */
  #toConvert = null;

  /**
   * @param {Iterable<ViewRecord>} records all records of the site, removed ones too, in any order
   * @param {{inherits?: boolean}} [how] whether rooms and groups say what was answered for their floor or panel where
   *   they say nothing themselves; false for who goes on to write records
   */
  constructor(records, { inherits = true } = {}) {
    this.all = [...records].sort((a, b) => inOrder(a.id, b.id));
    this.byId = new Map(this.all.map((record) => [record.id, record]));
    /** Record id -> the answers that it has from its floor or panel. @type {Map<string, import('./inherited.js').Answer[]>} */
    this.inherited = new Map();
    if (inherits) this.#inherit();
    /** @type {Map<string, ViewRecord[]>} */
    this.childrenOf = new Map();
    /** @type {Map<string, ViewRecord[]>} */
    this.typed = new Map();
    for (const record of this.all) {
      if (record.parent !== null) pushTo(this.childrenOf, record.parent, record);
      if (this.isLive(record)) pushTo(this.typed, record.type, record);
    }
  }

  /** Rooms and groups say what was answered for their floor or panel, where they say nothing themselves. */
  #inherit() {
    const above = new Above(this.all);
    if (above.saysNothing) return;
    for (const [place, record] of this.all.entries()) {
      if (record.type !== 'room' && record.type !== 'group') continue;
      const { record: filled, answers } =
        record.type === 'room' ? above.room(record) : above.group(record, this.byId.get(record.parent ?? ''));
      if (answers.length === 0) continue;
      this.all[place] = filled;
      this.byId.set(record.id, filled);
      this.inherited.set(record.id, answers);
    }
  }

  /** @template {string} [T=string] @param {string | null | undefined} id @returns {ViewRecord<T> | undefined} */
  get(id) {
    return id ? /** @type {ViewRecord<T> | undefined} */ (this.byId.get(id)) : undefined;
  }

  /** Whether neither the record nor anything that it stands in has been removed. @param {ViewRecord} record */
  isLive(record) {
    for (let at = /** @type {ViewRecord | undefined} */ (record); at; at = this.get(at.parent)) {
      if (at.removed) return false;
    }
    return true;
  }

  /** Live records of a type, by id. @template {string} T @param {T} type @returns {ViewRecord<T>[]} */
  ofType(type) {
    return /** @type {ViewRecord<T>[]} */ (this.typed.get(type) ?? []);
  }

  /**
   * Records whose parent it is and that are not removed themselves, by id.
   * @template {string} [T=string] @param {ViewRecord} record @param {T} [type] @returns {ViewRecord<T>[]}
   */
  children(record, type) {
    const found = (this.childrenOf.get(record.id) ?? []).filter((child) => !child.removed);
    return /** @type {ViewRecord<T>[]} */ (
      type === undefined ? found : found.filter((child) => child.type === type)
    );
  }

  /** What still lives below a record that was removed, and does not stay there as a record of work. @param {ViewRecord} record */
  orphans(record) {
    if (!record.removed) return [];
    return this.children(record).filter(({ type }) => !constants.STAYS.includes(type));
  }

  /** The site's own record; an empty one where it has not come yet. @returns {ViewRecord<'site'>} */
  site() {
    /** @type {ViewRecord<'site'>} */
    const empty = { id: '', type: 'site', parent: null, removed: false, facets: {}, conflicts: [] };
    return this.ofType('site')[0] ?? empty;
  }

  /** The kind of a group, where it is known. @param {ViewRecord<'group'>} group @returns {ViewRecord<'kind'> | undefined} */
  kindOf(group) {
    return this.get(facet(group, 'identity').kind);
  }

  /** The room in which a record stands, itself if it is one. @param {ViewRecord} record */
  roomOf(record) {
    return this.above(record, 'room');
  }

  /** The floor on which a record stands, itself if it is one. @param {ViewRecord} record */
  floorOf(record) {
    return this.above(record, 'floor');
  }

  /** @template {string} T @param {ViewRecord} record @param {T} type @returns {ViewRecord<T> | undefined} */
  above(record, type) {
    let at = /** @type {ViewRecord | undefined} */ (record);
    while (at && at.type !== type) at = this.get(at.parent);
    return /** @type {ViewRecord<T> | undefined} */ (at);
  }

  /** Readings of a group that count: neither removed, voided nor set aside. @param {ViewRecord<'group'>} group */
  readingsOf(group) {
    return this.children(group, 'cavity_reading').filter(
      (each) => !has(each, 'voided') && !has(each, 'set_aside'),
    );
  }

  /** Trial bars of a group that were not voided. @param {ViewRecord<'group'>} group */
  trialsOf(group) {
    return this.children(group, 'trial_bar').filter((each) => !has(each, 'voided'));
  }

  /**
   * Live groups whose conversion is of concern. Left out are rooms in which there is nothing to convert,
   * bodies with LEDs of their own or with nothing in them, and groups that the manager leaves as they are.
   */
  groupsToConvert() {
    this.#toConvert ??= this.ofType('group').filter((group) => {
      const room = this.roomOf(group);
      const done = room !== undefined && progressOf(room) === 'nothing-to-convert';
      const left = facet(group, 'decision').decision === 'leave-as-is';
      return !(done || left || NOTHING_TO_CONVERT.includes(facet(this.kindOf(group), 'lamps').fitted ?? ''));
    });
    return this.#toConvert;
  }
}

/** @template V @param {Map<string, V[]>} map @param {string} key @param {V} value */
export function pushTo(map, key, value) {
  const list = map.get(key);
  if (list) list.push(value);
  else map.set(key, [value]);
}

/**
 * A facet's value; empty where nothing was entered.
 * @template {{facets: object} | null | undefined} R @template {keyof NonNullable<R>['facets'] & string} N
 * @param {R} record @param {N} name @returns {FacetOf<R, N>}
 */
export function facet(record, name) {
  const facets = /** @type {Record<string, Value> | undefined} */ (record?.facets);
  return /** @type {FacetOf<R, N>} */ (facets?.[name] ?? {});
}

/**
 * Whether a facet says anything; one that was undone is there, and empty.
 * @param {ViewRecord} record @param {string} name
 */
export function has(record, name) {
  return Object.keys(facet(record, name)).length > 0;
}

/** Whether a field was entered and is not 'not-seen'. @param {unknown} value */
export function isSeen(value) {
  return value !== undefined && value !== null && value !== NOT_SEEN;
}

/** A room's progress; 'open' where nobody said. @param {ViewRecord<'room'>} room @returns {string} */
export function progressOf(room) {
  return facet(room, 'progress').progress ?? 'open';
}

/** Number and name of a room, as people say them. @param {ViewRecord<'room'> | undefined} room @returns {string} */
export function nameOfRoom(room) {
  const identity = facet(room, 'identity');
  return [identity.number, identity.name].filter(Boolean).join(' ') || 'a room without a name';
}

/** The mark of a kind. @param {ViewRecord<'kind'> | undefined} kind @returns {string} */
export function markOf(kind) {
  return facet(kind, 'identity').mark ?? '?';
}

/** Fixtures in a group; 0 where nobody counted. @param {ViewRecord<'group'>} group @returns {number} */
export function fixturesOf(group) {
  return facet(group, 'count').count ?? 0;
}

/** @param {ViewRecord<'group'>} group @returns {Set<number>} */
const goneOf = (group) => new Set(facet(group, 'count').gone ?? []);

/** Lamps in one fixture of a kind: rows times lamps end to end, one where nobody said; 0 where its rows were not seen. @param {ViewRecord<'kind'> | undefined} kind @returns {number} */
export function lampsEach(kind) {
  const { rows = 0, lamps_end_to_end: inARow = 1 } = facet(kind, 'lamps');
  return rows * inARow;
}

/**
 * The positions of a group's fixtures: counted from 1, those that are gone left out, as many as were counted.
 * @param {ViewRecord<'group'>} group @returns {number[]}
 */
export function positionsOf(group) {
  const gone = goneOf(group);
  const found = [];
  for (let position = 1; found.length < fixturesOf(group); position += 1) {
    if (!gone.has(position)) found.push(position);
  }
  return found;
}

/**
 * Whether a group has a fixture at a position, without listing them all. Positions gone are never used again, so
 * numbers go beyond the count by as many as are gone below them.
 * @param {ViewRecord<'group'>} group @param {number} position
 */
export function isPosition(group, position) {
  const gone = goneOf(group);
  const below = [...gone].filter((each) => each < position).length;
  return position >= 1 && !gone.has(position) && position - below <= fixturesOf(group);
}

/** Place of a floor among floors; unplaced ones come last. @param {ViewRecord<'floor'> | undefined} floor @returns {number} */
export function floorOrder(floor) {
  return facet(floor, 'identity').order ?? LAST;
}

/** Place of a room in the walk; unplaced ones come last. @param {ViewRecord<'room'> | undefined} room @returns {number} */
export function walkOrder(room) {
  return facet(room, 'walk').order ?? LAST;
}
