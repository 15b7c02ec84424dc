// What was checked off at a fixture and counts now, and by whom. Twin: server/spanwalk/rules/installing/checked_off.py, which says why.

import * as constants from '../constants.js';
import { facet, inOrder } from '../survey.js';
import { placeOf } from './last_word.js';

/** @typedef {import('./last_word.js').Installation} Installation */
/** @typedef {import('../survey.js').ViewRecord<'visit'> & import('./last_word.js').Placed & {by?: Record<string, string>}} Visit */
/** Who looks at which fixture, under which conversion, on which day of the phone's calendar and when (ISO 8601). @typedef {{position: number, conversion: string, person: string, day: string, at: string}} Moment */
/** @typedef {{checks: Array<{check: string, by: string[]}>, steps: Array<{place: number, by: string[]}>, lapsed: string[]}} CheckedOff */

const PROOF_HOLDS_MS = constants.PROOF_HOLDS_MINUTES * 60_000;
/** As much of a time as both sides read: to the second. */
const TO_THE_SECOND = 19;

/** The checks without which a fixture is not done. @param {Partial<Card>} frozen @param {number} position @returns {string[]} */
export function wantedChecks(frozen, position) {
  if (!frozen.checks) return [...constants.CHECKS_OF_ALL];
  const own = (frozen.checks_at ?? []).filter(({ positions }) => positions.includes(position));
  return [...frozen.checks, ...own.map(({ check }) => check)];
}

/** The wanted checks that were not made. @param {Partial<Card>} frozen @param {number} position @param {string[]} made @returns {string[]} */
export const missingChecks = (frozen, position, made) =>
  wantedChecks(frozen, position).filter((each) => !made.includes(each));

/**
 * What was checked off at one fixture and counts at one moment.
 * @param {Visit[]} visits those of the group, live ones @param {Installation[]} installations those of the group
 * @param {string[]} steps codes of the card's steps, in the order of the whole list @param {Moment} now @returns {CheckedOff}
 */
export function checkedOffAt(visits, installations, steps, now) {
  const here = visits.filter((each) => isOf(each, now));
  const noted = notedAt(installations, now);
  const alive = here.filter((each) => !ended(each, noted));
  const proving = alive.filter((each) => proves(each, noted, now));
  const checks = madeIn(proving, ({ checks: list = [] }) => list);
  const [placed, proved] = [alive, proving].map((some) => madeIn(some, ({ steps: list = [] }) => list));
  /** @param {number} place */
  const whose = (place) => {
    const proof = constants.PROVING_STEPS.includes(steps[place - 1] ?? '');
    return [...((proof ? proved : placed).get(place) ?? [])].sort(inOrder);
  };
  const mine = new Set(
    here.filter((each) => personOf(each) === now.person).flatMap((each) => facet(each, 'ticks').checks ?? []),
  );
  return {
    checks: [...checks.keys()]
      .sort(inOrder)
      .map((check) => ({ check, by: [...(checks.get(check) ?? [])].sort(inOrder) })),
    steps: [...placed.keys()]
      .sort((a, b) => a - b)
      .map((place) => ({ place, by: whose(place) }))
      .filter(({ by }) => by.length > 0),
    lapsed: [...mine].filter((check) => !checks.get(check)?.has(now.person)).sort(inOrder),
  };
}

/** Whether this person goes on checking off in a visit: it is theirs, of this phone, and its proofs still count. @param {Visit} visit @param {Installation[]} installations @param {string} phone @param {Moment} now */
export function mayGoOn(visit, installations, phone, now) {
  const noted = notedAt(installations, now);
  const own = isOf(visit, now) && personOf(visit) === now.person && facet(visit, 'identity').phone === phone;
  return own && !ended(visit, noted) && proves(visit, noted, now);
}

/** @param {Installation[]} installations @param {Moment} now */
const notedAt = (installations, now) =>
  installations.filter((each) => facet(each, 'identity').position === now.position);

/** @param {Visit} visit @param {Moment} now */
function isOf(visit, now) {
  const said = facet(visit, 'identity');
  return said.position === now.position && said.conversion === now.conversion;
}

/** @param {Visit} visit @returns {string} */
const personOf = (visit) => visit.by?.identity ?? '';

/**
 * Who checked off what: all visits together, as a set.
 * @template {string | number} T @param {Visit[]} visits @param {(said: ValueOf<'visit', 'ticks'>) => T[]} list @returns {Map<T, Set<string>>}
 */
function madeIn(visits, list) {
  /** @type {Map<T, Set<string>>} */
  const found = new Map();
  for (const visit of visits) {
    for (const each of list(facet(visit, 'ticks')))
      found.set(each, (found.get(each) ?? new Set()).add(personOf(visit)));
  }
  return found;
}

/** Whether the fixture was done since, or was not done after all: the work begins anew. @param {Visit} visit @param {Installation[]} noted */
const ended = (visit, noted) =>
  noted.some(
    (each) => constants.ENDS_VISITS.includes(facet(each, 'identity').outcome ?? '') && isSince(each, visit),
  );

/** Whether something was noted after a visit began: by the server's order, or by the phones' clocks. Either ends it. @param {Installation} noted @param {Visit} visit */
const isSince = (noted, visit) =>
  placeOf(noted) > placeOf(visit) ||
  time(facet(noted, 'identity').noted_at) > time(facet(visit, 'identity').begun_at);

/** Whether what was proved in a visit still counts: the same day, not long ago, nothing noted since. @param {Visit} visit @param {Installation[]} noted @param {Moment} now */
function proves(visit, noted, now) {
  const said = facet(visit, 'identity');
  const [begun, at] = [time(said.begun_at), time(now.at)];
  if (said.day !== now.day || !(at - begun >= 0 && at - begun <= PROOF_HOLDS_MS)) return false;
  return !noted.some((each) => isSince(each, visit));
}

/** A time of ISO 8601 in UTC, as phones write it; NaN where it is none. @param {string | undefined} text @returns {number} */
const time = (text) => Date.parse(`${String(text).slice(0, TO_THE_SECOND)}Z`);
