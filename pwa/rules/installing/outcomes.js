// What was noted last on each fixture, and what a manager said to it. Twin: server/spanwalk/rules/installing/outcomes.py.

import * as constants from '../constants.js';
import { fingerprintOf, newestOf } from '../since_release/standing.js';
import { facet, inOrder, pushTo } from '../survey.js';
import { fittedItems } from './as_fitted.js';
import { lastWords, placeOf } from './last_word.js';

/** @typedef {import('../survey.js').Survey} Survey */
/** A record with its place in the order of the server: a phone has it as `order`, rules' cases as `seqs`. @typedef {{id: string, order?: Record<string, number>, seqs?: Record<string, number>}} Placed */

export const UNANSWERED = constants.UNANSWERED;
export const AS_RELEASED = constants.AS_RELEASED;
export const RELEASED_SINCE = constants.RELEASED_SINCE;
export const TO_DO = constants.TO_DO;
export const DONE_AGAIN = constants.DONE_AGAIN;
/** Answers after which the manager has still to say or do something. */
export const WAITS = constants.WAITS;
const NEW_RELEASE = constants.NEW_RELEASE;
const PROBLEM = 'problem';

export { placeOf };

/** The oldest first. @param {Placed} a @param {Placed} b */
export const byPlace = (a, b) => placeOf(a) - placeOf(b) || inOrder(a.id, b.id);

/** The one that the server took last, whatever the phones' clocks say. @template {Placed} R @param {R[]} records @returns {R | undefined} */
export const newest = (records) => [...records].sort(byPlace).at(-1);

/** Position -> what was noted last on the fixture there. @param {Survey} survey @param {ViewRecord<'group'>} group @returns {Map<number, ViewRecord<'installation'>>} */
export const newestOutcomes = (survey, group) => lastWords(survey.children(group, 'installation'));

/** What was noted last on each fixture of a site. @param {ViewRecord<'installation'>[]} installations @returns {ViewRecord<'installation'>[]} */
export function lastOfAll(installations) {
  /** @type {Map<string, ViewRecord<'installation'>[]>} */
  const groups = new Map();
  for (const each of installations) pushTo(groups, each.parent ?? '', each);
  return [...groups.values()].flatMap((some) => [...lastWords(some).values()]);
}

/**
 * Problems after which only other people noted something on the fixture: they may not have known of it; see the twin.
 *
 * @template {ViewRecord<'installation'> & {by?: Record<string, string>}} I
 * @param {I[]} installations with whose word each is
 * @returns {I[]} in the order in which the server took them
 */
export function passedOver(installations) {
  /** @type {Map<string, Set<string | undefined>>} */
  const later = new Map();
  /** @type {I[]} */
  const found = [];
  for (const each of [...installations].sort(byPlace).reverse()) {
    const { outcome, position = 0 } = facet(each, 'identity');
    const fixture = `${each.parent} ${position}`;
    const since = later.get(fixture) ?? new Set();
    const by = each.by?.identity;
    if (outcome === PROBLEM && by !== undefined && since.size > 0 && !since.has(by)) found.push(each);
    later.set(fixture, since.add(by));
  }
  return found.reverse();
}

/**
 * How far the talk about a problem is: the manager's newest answer, or that there is none; see the twin.
 *
 * @param {Survey} survey @param {ViewRecord<'installation'>} installation
 * @returns {string} `unanswered`, `do-it-so`, `skip`, `wait`, `new-release` or `released-since`
 */
export function problemState(survey, installation) {
  const last = wordsOn(survey, installation).at(-1);
  const said = last?.type === 'problem_answer' ? facet(last, 'identity').answer : undefined;
  if (!said) return UNANSWERED;
  return said === NEW_RELEASE && isReleasedSince(survey, installation) ? RELEASED_SINCE : said;
}

/** @param {Survey} survey @param {ViewRecord<'installation'>} installation */
function isReleasedSince(survey, installation) {
  /** @type {ViewRecord<'group'> | undefined} */
  const group = survey.get(installation.parent);
  const latest = group && newestOf(survey, group);
  return latest !== undefined && latest.id !== facet(installation, 'identity').conversion;
}

/** Whether a fixture is done and was fitted otherwise than released. @param {ViewRecord<'installation'>} installation */
export const differs = (installation) =>
  facet(installation, 'identity').outcome === 'done' &&
  facet(installation, 'as_fitted').as_released === false;

/**
 * What a manager said to what was fitted otherwise; see the twin.
 *
 * @param {Survey} survey @param {ViewRecord<'installation'>} installation
 * @returns {string} `as-released`, `unanswered`, `accepted` or `sent-back`
 */
export function differenceState(survey, installation) {
  if (!differs(installation)) return AS_RELEASED;
  const now = fittedFingerprint(installation);
  const answers = survey
    .children(installation, 'difference_answer')
    .filter((each) => facet(each, 'identity').answers === now);
  return facet(newest(answers), 'identity').answer ?? UNANSWERED;
}

/** What names a set of fitted items: see the twin. @param {ViewRecord<'installation'>} installation @returns {string} */
export function fittedFingerprint(installation) {
  const lines = (fittedItems(installation, []) ?? []).map((each, place) => ({
    fact: 'fitted',
    weight: '',
    about: `${place}|${each.kind}|${each.code}`,
    before: [each.number, each.setting_ma],
    now: [each.rows, each.serials],
  }));
  return lines.length > 0 ? fingerprintOf(lines) : constants.NOTHING_SAID;
}

/** Answers and words on a problem, the oldest first. @param {Survey} survey @param {ViewRecord<'installation'>} installation @returns {Array<ViewRecord<'problem_answer'> | ViewRecord<'problem_reply'>>} */
export function wordsOn(survey, installation) {
  /** @type {Array<ViewRecord<'problem_answer'> | ViewRecord<'problem_reply'>>} */
  const said = [
    ...survey.children(installation, 'problem_answer'),
    ...survey.children(installation, 'problem_reply'),
  ];
  return said.sort(byPlace);
}
