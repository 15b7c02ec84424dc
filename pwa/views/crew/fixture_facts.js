// All that a crew needs to know about one fixture, from the phone alone.

import { lastWords } from '../../rules/installing/last_word.js';
import { convertedBeyondCount } from '../../rules/installing/noted.js';
import { DONE_AGAIN, differenceState, differs } from '../../rules/installing/outcomes.js';
import { facet, positionsOf, Survey } from '../../rules/survey.js';
import { byOrder } from '../newest.js';
import { asItHolds } from '../surveying/inherited_here.js';

/** The newest by number. @param {RecordView<'conversion'>[]} conversions @returns {RecordView<'conversion'> | undefined} */
const newest = (conversions) =>
  conversions.reduce(
    (best, each) => (numberOf(each) > numberOf(best) ? each : best),
    /** @type {RecordView<'conversion'> | undefined} */ (undefined),
  );

/** @param {RecordView<'conversion'> | undefined} conversion @returns {number} */
const numberOf = (conversion) => Number(conversion?.facets.identity?.number ?? 0);

/** When something was done, as its phone says it. @param {RecordView<'installation'> | RecordView<'emergency_test'>} record @returns {string} */
export const doneAt = (record) => String(record.facets.identity?.noted_at ?? record.at.identity ?? '');

/** The labels on one fixture that still hold. @param {RecordView<'label'>[]} labels @param {string} group @param {number} position */
const labelsOn = (labels, group, position) =>
  labels.filter(
    ({ facets }) =>
      facets.binding?.group === group && facets.binding?.position === position && !facets.voided?.reason,
  );

/**
 * @param {Site} site @param {string} groupId
 * @returns {Promise<GroupRead | null>} null: the group is not on this phone
 */
export async function readGroup(site, groupId) {
  const group = /** @type {RecordView<'group'> | undefined} */ (await site.get(groupId));
  if (!group || group.removed) return null;
  const [kind, room, conversions, installations, labels] = await Promise.all([
    /** @type {Promise<RecordView<'kind'> | undefined>} */ (site.get(group.facets.identity?.kind ?? '')),
    /** @type {Promise<RecordView<'room'> | undefined>} */ (site.get(group.parent ?? '')),
    site.children(groupId, 'conversion'),
    site.children(groupId, 'installation'),
    site.referring(groupId, 'label'),
  ]);
  /** @type {RecordView<'floor'> | undefined} */
  const floor = room ? await site.get(room.parent ?? '') : undefined;
  const conversion = newest(conversions);
  return {
    group: await asItHolds(site, group),
    kind,
    room: room && (await asItHolds(site, room)),
    floor,
    conversion,
    partner: await readPartner(site, conversion),
    installations,
    labels,
    positions: [...positionsOf(group), ...convertedBeyondCount(group, installations)],
    done: await readDone(site, installations),
  };
}

/**
 * Positions on which nothing is left to do: the last word there is 'done', and the desk has not sent back what was fitted.
 *
 * @param {Site} site @param {RecordView<'installation'>[]} installations all of the group @returns {Promise<Set<number>>}
 */
async function readDone(site, installations) {
  const last = [...lastWords(installations)].filter(([, each]) => facet(each, 'identity').outcome === 'done');
  const answers = await Promise.all(
    last.filter(([, each]) => differs(each)).map(([, each]) => site.children(each.id, 'difference_answer')),
  );
  const survey = new Survey(/** @type {ViewRecord[]} */ ([...installations, ...answers.flat()]));
  return new Set(
    last.filter(([, each]) => differenceState(survey, each) !== DONE_AGAIN).map(([position]) => position),
  );
}

/**
 * The group that shares its ballasts with this one, as its conversion names it.
 *
 * @param {Site} site @param {RecordView<'conversion'> | undefined} conversion @returns {Promise<GroupOfPartner | null>} null: it names none, or it is not on this phone
 */
async function readPartner(site, conversion) {
  const id = conversion?.facets.identity?.frozen?.partner?.group;
  const group = id && /** @type {RecordView<'group'> | undefined} */ (await site.get(id));
  if (!group || group.removed) return null;
  const [kind, room, conversions, installations, labels] = await Promise.all([
    /** @type {Promise<RecordView<'kind'> | undefined>} */ (site.get(group.facets.identity?.kind ?? '')),
    /** @type {Promise<RecordView<'room'> | undefined>} */ (site.get(group.parent ?? '')),
    site.children(id, 'conversion'),
    site.children(id, 'installation'),
    site.referring(id, 'label'),
  ]);
  return {
    group,
    kind,
    room,
    conversion: newest(conversions),
    installations,
    labels,
    positions: positionsOf(group),
  };
}

/** What is known of one fixture of a group that was read. @param {GroupOfPartner} read @param {number} position */
export function fixtureOf(read, position) {
  const here = read.installations
    .filter((each) => each.facets.identity?.position === position)
    .sort((a, b) => byOrder(b, a));
  return { history: here, newest: here[0], labels: labelsOn(read.labels, read.group.id, position) };
}

/** The next fixture of the group that is still to be done; null when there is none. @param {GroupRead} read @param {number} position @param {number[]} [further] those that its release has not @returns {number | null} */
export function nextOpen(read, position, further = []) {
  const left = read.positions.filter(
    (each) => each !== position && !read.done.has(each) && !further.includes(each),
  );
  return left.find((each) => each > position) ?? left[0] ?? null;
}
