// Open points of the crew's work: problems, what was fitted otherwise, what no release has, parts that are short. Twin: server/spanwalk/rules/points/work.py.

import { inForce, notedIn } from '../installing/noted.js';
import {
  byPlace,
  DONE_AGAIN,
  differenceState,
  newestOutcomes,
  passedOver,
  problemState,
  TO_DO,
  UNANSWERED,
  WAITS,
} from '../installing/outcomes.js';
import { furtherFixtures } from '../since_release/work.js';
import { facet, inOrder } from '../survey.js';
import { ofGroup } from './found.js';

/** @typedef {import('./found.js').Seen} Seen */
/** @typedef {import('./found.js').Found} Found */
/** @typedef {{group: ViewRecord<'group'>, position: number, installation: ViewRecord<'installation'>}} Noted */

/** Fixtures whose newest word is a problem to which the manager has still to say or do something, or hid one from them. @param {Seen} seen @returns {Found[]} */
export function problemOpen(seen) {
  return [...noted(seen, 'problem'), ...unseen(seen)].flatMap((each) => {
    const state = problemState(seen.survey, each.installation);
    if (!WAITS.includes(state)) return [];
    const { problem, reason } = facet(each.installation, 'identity');
    return [ofFixture(seen, each, { said: problem || (reason ?? 'other'), state })];
  });
}

/** Fixtures whose problem was answered, and on which the crew goes on. @param {Seen} seen @returns {Found[]} */
export const problemToDo = (seen) =>
  noted(seen, 'problem')
    .filter(({ installation }) => problemState(seen.survey, installation) === TO_DO)
    .map((each) => ofFixture(seen, each));

/** Fixtures that were fitted otherwise than released, and nobody has accepted or sent it back. @param {Seen} seen @returns {Found[]} */
export const differenceOpen = (seen) =>
  noted(seen, 'done')
    .filter(({ installation }) => WAITS.includes(differenceState(seen.survey, installation)))
    .map((each) => ofFixture(seen, each));

/** Fixtures that the crew does again. @param {Seen} seen @returns {Found[]} */
export const sentBack = (seen) =>
  noted(seen, 'done')
    .filter(({ installation }) => differenceState(seen.survey, installation) === DONE_AGAIN)
    .map((each) => ofFixture(seen, each));

/** Groups with fixtures that were counted after their release and are not done: nothing was released or ordered for them. @param {Seen} seen @returns {Found[]} */
export const notInRelease = (seen) =>
  seen.survey.groupsToConvert().flatMap((group) => {
    const { facts = {}, number = 0 } = facet(inForce(seen.survey, group), 'identity');
    const further = furtherFixtures(group, facts);
    if (further.length === 0) return [];
    const has = notedIn(seen.survey, group, undefined);
    const left = further.filter((each) => !has.get(each)?.done);
    return left.length > 0 ? [ofGroup(seen, group, { positions: left.join(', '), release: number })] : [];
  });

/** Parts of which there were too few when a room was picked for; what was said last of each counts. @param {Seen} seen @returns {Found[]} */
export function pickedShort(seen) {
  /** @type {Map<string, ViewRecord<'picking'>>} */
  const newest = new Map();
  for (const each of seen.survey.ofType('picking').sort(byPlace)) {
    const { release = '', sort = '', item = '' } = facet(each, 'identity');
    newest.set([each.parent, release, sort, item].join('\u0000'), each);
  }
  return [...newest]
    .sort(([a], [b]) => inOrder(a, b))
    .filter(([, each]) => facet(each, 'identity').short)
    .map(([, each]) => {
      const { sort = '', item = '', short } = facet(each, 'identity');
      return { record: each.id, room: seen.survey.roomOf(each), facts: { sort, item, short } };
    });
}

/** Each fixture on which this was noted last. @param {Seen} seen @param {string} outcome @returns {Noted[]} */
const noted = (seen, outcome) =>
  seen.survey.ofType('group').flatMap((group) =>
    [...newestOutcomes(seen.survey, group)]
      .sort(([a], [b]) => a - b)
      .filter(([, installation]) => facet(installation, 'identity').outcome === outcome)
      .map(([position, installation]) => ({ group, position, installation })),
  );

/** Each problem that nobody answered and after which only other people noted something. @param {Seen} seen @returns {Noted[]} */
const unseen = (seen) =>
  seen.survey.ofType('group').flatMap((group) =>
    passedOver(seen.survey.children(group, 'installation'))
      .filter((installation) => problemState(seen.survey, installation) === UNANSWERED)
      .map((installation) => ({
        group,
        position: facet(installation, 'identity').position ?? 0,
        installation,
      })),
  );

/** @param {Seen} seen @param {Noted} noted @param {Facts} [facts] @returns {Found} */
const ofFixture = (seen, { group, position, installation }, facts = {}) => ({
  ...ofGroup(seen, group, { position, ...facts }),
  record: installation.id,
});
