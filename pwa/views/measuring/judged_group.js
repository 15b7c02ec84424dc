// A group with all that its verdicts rest on, read from the phone once and judged in memory as often as somebody types.

import { barOf } from '../../rules/fit/bar_rows.js';
import { readOfKind } from '../../rules/fit/by_lamp.js';
import { misfitCost } from '../../rules/fit/misfit.js';
import { counting, questionsOf } from '../../rules/fit/sampling.js';
import { degreeOf } from '../../rules/judging/degree.js';
import { judgeGroup } from '../../rules/judging/judging.js';
import { facet, has, Survey } from '../../rules/survey.js';
import { store } from '../../store/store.js';
import { say } from '../words.js';

/**
 * `readings` are all of the group that are not removed; `others` is group, kind and readings of each other group of
 * the kind that is to be converted.
 *
 * @typedef {object} Found
 * @property {RecordView<'group'>} group
 * @property {RecordView<'kind'> | null} kind
 * @property {RecordView<'room'> | null} room
 * @property {ViewRecord<'floor'> | null} floor
 * @property {ViewRecord<'site'>} site its own record
 * @property {RecordView<'cavity_reading'>[]} readings
 * @property {Array<[ViewRecord<'group'>, ViewRecord<'kind'>, ViewRecord<'cavity_reading'>[]]>} others
 * @property {RecordView<'trial_bar'>[]} trials trial bars of the group, voided ones too
 * @property {ViewRecord<'catalogue_item'>[]} bars
 * @property {ValueOf<'money', 'identity'>} money the site's; empty where there is none, or this person may not see it
 * @property {Record<string, ValueOf<'price', 'identity'>>} prices by item
 */

/**
 * @param {Site} site an opened site @param {string} id
 * @returns {Promise<Found | null>} null where the group is not on this phone, or removed
 */
export async function findGroup(site, id) {
  const group = /** @type {RecordView<'group'> | undefined} */ (await site.get(id));
  if (group?.type !== 'group' || group.removed) return null;
  const kindId = facet(group, 'identity').kind;
  const [kind, own, items, alike, money, prices, trials] = await Promise.all([
    /** @type {Promise<RecordView<'kind'> | undefined> | undefined} */ (
      kindId ? site.get(kindId) : undefined
    ),
    site.get(site.id),
    site.all('catalogue_item'),
    kindId ? site.referring(kindId, 'group') : [group],
    site.all('money'),
    site.all('price'),
    site.children(id, 'trial_bar'),
  ]);
  const records = [...(await withRooms(site, alike)), ...(kind ? [kind] : []), ...(own ? [own] : [])];
  const survey = new Survey(new Map(records.map((each) => [each.id, each])).values());
  const others = survey.groupsToConvert().filter((each) => each.id !== id);
  return {
    group,
    kind: kind ?? null,
    room: /** @type {RecordView<'room'> | undefined} */ (survey.roomOf(group)) ?? null,
    floor: survey.floorOf(group) ?? null,
    site: survey.site(),
    readings: /** @type {RecordView<'cavity_reading'>[]} */ (survey.children(group, 'cavity_reading')),
    others: others.map((each) => [
      each,
      /** @type {RecordView<'kind'>} */ (kind),
      survey.children(each, 'cavity_reading'),
    ]),
    trials,
    bars: items.filter((item) => has(item, 'bar')),
    money: facet(money[0], 'identity'),
    prices: Object.fromEntries(prices.map((each) => [each.parent, facet(each, 'identity')])),
  };
}

/** Groups with their readings, their rooms and the floors of these. @param {Site} site @param {ViewRecord<'group'>[]} groups */
export async function withRooms(site, groups) {
  /** @param {ViewRecord[]} records */
  const parents = async (records) => {
    const ids = [...new Set(records.map((each) => each.parent))];
    return /** @type {RecordView[]} */ (
      (await Promise.all(ids.map((id) => site.get(id ?? '')))).filter(Boolean)
    );
  };
  const readings = await Promise.all(groups.map((each) => site.children(each.id, 'cavity_reading')));
  const rooms = await parents(groups);
  return [...groups, ...readings.flat(), ...rooms, ...(await parents(rooms))];
}

/**
 * What the rules say of the group, with the degree of each verdict; null while its kind or its room is not on this phone.
 *
 * @param {Found} found @param {ViewRecord<'cavity_reading'>} [draft] a reading that is being typed
 * @returns {Judgement | null}
 */
export function judged(found, draft) {
  const { group, kind, room, site, readings, others, bars, trials } = found;
  if (!kind || !room) return null;
  const all = draft ? [...readings.filter((each) => each.id !== draft.id), draft] : readings;
  const told = judgeGroup(group, kind, room, site, all, others, bars, store.tables.reference, trials);
  return withDegrees(told, group, readOf(group, kind, all, others));
}

/**
 * What was read of the kind, over all its groups.
 *
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'cavity_reading'>[]} readings @param {Found['others']} others
 */
function readOf(group, kind, readings, others) {
  const asked = (/** @type {ViewRecord<'cavity_reading'>[]} */ own) =>
    questionsOf(counting(own), kind, store.tables.reference);
  return readOfKind([
    [group, kind, readings, asked(readings)],
    ...others.map(
      ([other, its, own]) =>
        /** @type {import('../../rules/fit/by_lamp.js').GroupRead} */ ([other, its, own, asked(own)]),
    ),
  ]);
}

/** The judgement with its degree, and each row of bars with the degree that it would have as the best. @param {Judgement} told @param {ViewRecord<'group'>} group @param {import('../../rules/fit/by_lamp.js').ReadOfKind} read */
function withDegrees(told, group, read) {
  const degree = degreeOf(group, told, read);
  const fits = told.fits.map((fit, at) => ({
    ...fit,
    degree: at === told.best ? degree : degreeOf(group, { ...told, best: at }, read),
  }));
  return { ...told, fits, degree };
}

/** The best row of bars, where anything can be told. @param {Judgement | null | undefined} told @returns {Fit | null} */
export const bestOf = (told) => (told && told.best !== null ? told.fits[told.best] : null);

/** @param {Judgement | null} told @returns {string} */
export const verdictOf = (told) => bestOf(told)?.verdict ?? 'cannot tell';

/** What it would cost if the best row of bars did not go in. @param {Found} found @param {Judgement} told */
export function misfitOf({ room, money, prices }, told) {
  const access = facet(room, 'ceiling').access ?? 'not-seen';
  return {
    currency: money.currency,
    ...misfitCost(/** @type {Fit} */ (bestOf(told)).bars, prices, money, access),
  };
}

/** Readings that count: neither voided nor set aside. @param {ViewRecord<'cavity_reading'>[]} readings */
export const counted = (readings) =>
  readings.filter((each) => !has(each, 'voided') && !has(each, 'set_aside'));

/** What bars are called, in order: '2 × SB-1120 + SB-560'. @param {string[]} ids @param {ViewRecord<'catalogue_item'>[]} bars */
export function barNames(ids, bars) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const id of ids) counts.set(id, (counts.get(id) ?? 0) + 1);
  return [...counts]
    .map(([id, count]) => (count > 1 ? `${count} × ` : '') + barName(bars.find((bar) => bar.id === id)))
    .join(' + ');
}

/** @param {ViewRecord<'catalogue_item'> | undefined} bar */
function barName(bar) {
  const { code, name } = facet(bar, 'identity');
  return (
    name ||
    code ||
    (bar
      ? say('measuring.bar-of-length', { length_mm: barOf(bar).length_ticks / 320 })
      : say('measuring.a-bar-that-is-not'))
  );
}
