// Open points of kinds: what only an open cover shows, said once for all their groups. Twin: server/spanwalk/rules/points/kinds.py.

import { isNever } from '../fit/not_converted.js';
import { lampWattsDoubt, mainsHz } from '../gear/mains.js';
import { facet, inOrder, isSeen, markOf } from '../survey.js';
import { alike } from './found.js';

/** @typedef {import('./found.js').Seen} Seen */
/** @typedef {import('./found.js').Found} Found */

const LAMP_FIELDS = /** @type {const} */ ([
  'fitted',
  'diameter',
  'cap',
  'nominal_ft',
  'rows',
  'lamps_end_to_end',
]);
const SIDES = /** @type {const} */ (['length_ticks', 'width_ticks', 'height_ticks']);

/** Marks that two or more kinds bear; one point for a mark. @param {Seen} seen @returns {Found[]} */
export function duplicateKindMark(seen) {
  return alike(seen.survey.ofType('kind'), 'mark').map((kinds) => ({
    record: kinds[0].id,
    room: undefined,
    facts: { mark: markOf(kinds[0]), kinds: kinds.length },
  }));
}

/** Kinds in use of which nobody has said what lamps are in them, and in how many rows of how many. @param {Seen} seen @returns {Found[]} */
export function lampsNotSeen(seen) {
  return lacking(seen, (kind) => LAMP_FIELDS.every((field) => isSeen(facet(kind, 'lamps')[field])));
}

/**
 * Kinds in use whose lamp watts nobody read and nobody can take: another lamp of the same length may well be in them.
 * @param {Seen} seen @returns {Found[]}
 */
export function lampWattsNotSeen(seen) {
  const settings = facet(seen.survey.site(), 'settings');
  /** @type {Map<string, Found>} */
  const asked = new Map();
  for (const group of seen.survey.groupsToConvert()) {
    const kind = seen.survey.kindOf(group);
    const why = kind && seen.survey.isLive(kind) ? doubt(group, kind, settings) : undefined;
    if (kind && why !== undefined && !asked.has(kind.id))
      asked.set(kind.id, { record: kind.id, room: undefined, facts: { mark: markOf(kind), why } });
  }
  return [...asked.keys()].sort(inOrder).map((id) => /** @type {Found} */ (asked.get(id)));
}

/** @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {{region?: string, supply_volts?: string}} settings */
function doubt(group, kind, settings) {
  const ballast = facet(kind, 'ballast');
  const fed = facet(kind, 'wiring').neighbour_leads === 'fed-from-the-neighbours-ballast';
  const gear = fed ? 'electronic' : (ballast.ballast ?? 'not-seen');
  return lampWattsDoubt(facet(kind, 'lamps'), gear, mainsHz(facet(group, 'supply'), ballast, settings));
}

/** Kinds in use whose ballast space has not been measured whole. @param {Seen} seen @returns {Found[]} */
export function noBallastSpace(seen) {
  return lacking(
    seen,
    (kind) => isNever(kind) || SIDES.every((side) => facet(kind, 'ballast_space')[side] !== undefined),
  );
}

/** Kinds in use of which nobody has seen how many supply feeds come into the body. @param {Seen} seen @returns {Found[]} */
export function feedsNotSeen(seen) {
  return lacking(seen, (kind) => isNever(kind) || isSeen(facet(kind, 'wiring').feeds));
}

/**
 * Kinds of the groups that are to be converted, each once, that do not have what is asked.
 * @param {Seen} seen @param {(kind: ViewRecord<'kind'>) => boolean} has @returns {Found[]}
 */
function lacking(seen, has) {
  /** @type {Map<string, ViewRecord<'kind'>>} */
  const used = new Map();
  for (const group of seen.survey.groupsToConvert()) {
    const kind = seen.survey.kindOf(group);
    if (kind && seen.survey.isLive(kind)) used.set(kind.id, kind);
  }
  const kinds = [...used.values()].sort((a, b) => inOrder(a.id, b.id)).filter((kind) => !has(kind));
  return kinds.map((kind) => ({ record: kind.id, room: undefined, facts: { mark: markOf(kind) } }));
}
