// Who works in which room on which day: what was assigned by a manager or taken by a crew, less what was given back.

import { byPlace } from '../../rules/installing/outcomes.js';
import { facet, pushTo } from '../../rules/survey.js';

/** Somebody who has a room for the day. @typedef {{who: string, person: string | null, deed: string}} Holder */

/** A day as it is written in records: where the phone is, not in Greenwich. @param {Date} at @returns {string} */
export const dayOf = (at) =>
  [at.getFullYear(), at.getMonth() + 1, at.getDate()].map((part) => String(part).padStart(2, '0')).join('-');

/**
 * Who has which room on a day, by room id. The last word on each room and name counts.
 *
 * @param {RecordView<'assignment'>[]} assignments @param {string} day
 * @returns {Map<string, Holder[]>}
 */
export function holdersOn(assignments, day) {
  /** @type {Map<string, RecordView<'assignment'>>} */
  const last = new Map();
  for (const each of [...assignments].sort(byPlace)) {
    const said = facet(each, 'identity');
    if (said.day === day) last.set(`${each.parent}|${said.person ?? said.who}`, each);
  }
  /** @type {Map<string, Holder[]>} */
  const found = new Map();
  for (const each of last.values()) {
    const { deed, who = '', person = null } = facet(each, 'identity');
    if (deed !== 'given-back') pushTo(found, each.parent ?? '', { who, person, deed: deed ?? '' });
  }
  return found;
}

/**
 * Rooms that somebody had on an earlier day and did not give back on that day, by room id the last such day.
 *
 * @param {RecordView<'assignment'>[]} assignments @param {string} day @param {{id: string, name: string} | null} person
 * @returns {Map<string, string>}
 */
export function heldBefore(assignments, day, person) {
  const days = [...new Set(assignments.map((each) => facet(each, 'identity').day ?? ''))];
  /** @type {Map<string, string>} */
  const found = new Map();
  for (const earlier of days.filter((each) => each < day).sort())
    for (const [room, holders] of holdersOn(assignments, earlier))
      if (holds(holders, person)) found.set(room, earlier);
  return found;
}

/** @param {Holder[] | undefined} holders @param {{id: string, name: string} | null} person */
export const holds = (holders, person) =>
  (holders ?? []).some((each) => person !== null && (each.person ?? '') === person.id);
