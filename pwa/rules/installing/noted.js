// What counts of all that was noted on the fixtures of a group. Twin: server/spanwalk/rules/installing/noted.py.

import * as constants from '../constants.js';
import { newestOf } from '../since_release/standing.js';
import { facet, has, isPosition, positionsOf } from '../survey.js';
import { lastWords } from './last_word.js';

/** @typedef {import('../survey.js').Survey} Survey */
/** @template {string} [T=string] @typedef {import('../survey.js').ViewRecord<T>} ViewRecord */
/** The last word on a fixture, the last that says whether it is converted, and the conversion that it was done under. @typedef {{last: ViewRecord<'installation'> | undefined, done: ViewRecord<'installation'> | undefined, conversion: ViewRecord<'conversion'> | undefined}} Noted */

export const DONE = 'done';
const NONE = 'none';

/** The card of the release that counts here; empty where there is none. @param {Noted | {conversion: ViewRecord<'conversion'> | undefined}} noted @returns {Partial<Card>} */
export const cardOf = ({ conversion }) =>
  /** @type {Partial<Card>} */ (facet(conversion, 'identity').frozen ?? {});

/** Position -> what was noted there, of every fixture that the group has, and of those converted beyond its count; see the twin. @param {Survey} survey @param {ViewRecord<'group'>} group @param {ViewRecord<'conversion'> | undefined} newest @returns {Map<number, Noted>} */
export function notedIn(survey, group, newest) {
  const installations = survey.children(group, 'installation');
  const last = lastWords(installations);
  const ending = endingWords(installations);
  return new Map(
    [...positionsOf(group), ...beyondCount(group, ending)].map((position) => [
      position,
      noted(survey, last, ending, position, newest),
    ]),
  );
}

/** The last words that say whether a fixture is converted. @param {ViewRecord<'installation'>[]} installations */
export const endingWords = (installations) =>
  lastWords(
    installations.filter((each) => constants.ENDS_VISITS.includes(facet(each, 'identity').outcome ?? '')),
  );

/** Fixtures of a group that are noted as done, and of which its count has none; see the twin. @param {ViewRecord<'group'>} group @param {ViewRecord<'installation'>[]} installations all of the group @returns {number[]} */
export const convertedBeyondCount = (group, installations) => beyondCount(group, endingWords(installations));

/** @param {ViewRecord<'group'>} group @param {Map<number, ViewRecord<'installation'>>} ending @returns {number[]} */
function beyondCount(group, ending) {
  const { gone = [] } = facet(group, 'count');
  return [...ending]
    .filter(
      ([position, each]) =>
        facet(each, 'identity').outcome === DONE && !gone.includes(position) && !isPosition(group, position),
    )
    .map(([position]) => position)
    .sort((a, b) => a - b);
}

/** @param {Survey} survey @param {Map<number, ViewRecord<'installation'>>} last @param {Map<number, ViewRecord<'installation'>>} ending @param {number} position @param {ViewRecord<'conversion'> | undefined} newest @returns {Noted} */
function noted(survey, last, ending, position, newest) {
  const ended = ending.get(position);
  const told = last.get(position);
  if (!ended || facet(ended, 'identity').outcome !== DONE)
    return { last: told, done: undefined, conversion: newest };
  const named = facet(ended, 'identity').conversion;
  /** @type {ViewRecord<'conversion'> | undefined} */
  const conversion = named ? survey.get(named) : newest;
  return { last: told, done: ended, conversion };
}

/** Whether a manager withdrew it, or its release. @param {Survey} survey @param {ViewRecord<'conversion'>} conversion */
export function isWithdrawn(survey, conversion) {
  const release = survey.get(facet(conversion, 'identity').release);
  return has(conversion, 'withdrawn') || (release !== undefined && has(release, 'withdrawn'));
}

/** The conversion of a group's newest release, where that was not withdrawn. @param {Survey} survey @param {ViewRecord<'group'>} group @returns {ViewRecord<'conversion'> | undefined} */
export function inForce(survey, group) {
  const newest = newestOf(survey, group);
  return newest && !isWithdrawn(survey, newest) ? newest : undefined;
}

/** Fixtures with an emergency duty, as a card has it. @param {Partial<Card>} card @returns {number[]} */
export function emergencyPositions({ emergency }) {
  return emergency && (emergency.duty ?? NONE) !== NONE ? (emergency.positions ?? []) : [];
}
