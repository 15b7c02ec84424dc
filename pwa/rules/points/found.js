// What the rules of open points look at and what they find. Twin: server/spanwalk/rules/points/found.py.

import { facet, has, markOf, pushTo } from '../survey.js';

/** @typedef {import('../survey.js').Survey} Survey */
/** One thing that a rule found. @typedef {{record: string, room: ViewRecord<'room'> | undefined, facts: Facts}} Found */
/** A rule: its name, who can close what it finds, on which screen, and the function that finds. @typedef {{name: string, who: string[], path: string, find: (seen: Seen) => Found[]}} Rule */
/** @typedef {{id: string, person: string, operations: number, photos: number, since: string | null}} DeviceWork */
/**
 * Lengths of all readings that count [1/320 mm], ascending, by kind.
 * @param {Survey} survey @returns {Map<string, number[]>}
 */
export function lengthsByKind(survey) {
  /** @type {Map<string, number[]>} */
  const found = new Map();
  for (const group of survey.groupsToConvert()) {
    const kind = facet(group, 'identity').kind ?? '';
    for (const reading of survey.readingsOf(group))
      pushTo(found, kind, facet(reading, 'identity').length_ticks);
  }
  for (const lengths of found.values()) lengths.sort((a, b) => a - b);
  return found;
}

/**
 * What the rules look at: records, SHA-256 of the photos that are on the server (null: not known),
 * what each device said that it has not sent, judgements by group id, lengths of readings by kind, figures that the
 * site set and that cannot be used, groups whose plan is not ready, rooms whose readings of light lie outside what was
 * reckoned, kinds whose second readings hold them back (these four known on the server only), reference tables,
 * and what the rules before this one found, which grows from rule to rule.
 * @typedef {{survey: Survey, photosArrived: Set<string> | null, devices: DeviceWork[],
 *   judgements: Record<string, Judgement>, lengths: Map<string, number[]>,
 *   figuresNotUsed: {record: string, row: string, why: string}[], tables: Reference,
 *   notReady: NotReady[], lightsOff: {room: string, facts: Record<string, unknown>}[], looksMixed: {room: string, facts: Record<string, unknown>}[],
 *   kindsHeld: {kind: string, why: string, facts: Record<string, unknown>}[],
 *   told: {record: string, room: string | null}[]}} Seen
 */
/** A group whose plan is not ready to be released, and all that keeps it from being so. @typedef {{group: string, because: {code: string, facts: Record<string, unknown>}[]}} NotReady */

/**
 * Sets of records with the same text in a field of their identity, in any case.
 * @template {string} T @param {ViewRecord<T>[]} records @param {string} field
 */
export function alike(records, field) {
  /** @type {Map<string, ViewRecord<T>[]>} */
  const sets = new Map();
  for (const record of records) {
    const text = String(facet(/** @type {ViewRecord} */ (record), 'identity')[field] ?? '')
      .trim()
      .toLowerCase();
    if (text) pushTo(sets, text, record);
  }
  return [...sets.values()].filter((found) => found.length > 1);
}

/**
 * What was found of a group, with the mark of its kind.
 * @param {Seen} seen @param {ViewRecord<'group'>} group @param {Facts} [facts] @returns {Found}
 */
export function ofGroup(seen, group, facts = {}) {
  const kind = markOf(seen.survey.kindOf(group));
  return { record: group.id, room: seen.survey.roomOf(group), facts: { kind, ...facts } };
}

/** Labels that are on a fixture and not voided. @param {Seen} seen */
export function boundLabels(seen) {
  return seen.survey.ofType('label').filter((label) => has(label, 'binding') && !has(label, 'voided'));
}

/**
 * The group or kind that a point about a record holds open; none for rooms, questions and the like.
 * @param {Survey} survey @param {ViewRecord | undefined} record
 */
export function heldBy(survey, record) {
  let at = record;
  if (record?.type === 'label') at = survey.get(facet(record, 'binding').group);
  if (record?.type === 'photo') at = survey.get(facet(record, 'identity').subject);
  while (at && at.type !== 'group' && at.type !== 'kind') at = survey.get(at.parent);
  return at;
}
