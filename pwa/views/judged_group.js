// A group with all that its verdicts rest on, read from the phone once and judged in memory as often as somebody types.

import { barOf } from '../rules/bar_rows.js';
import { LEAST_FIXTURES, needsWitness, readOfKind } from '../rules/by_lamp.js';
import { judgeGroup } from '../rules/judging.js';
import { misfitCost } from '../rules/misfit.js';
import { counting, questionsOf } from '../rules/sampling.js';
import { facet, has, Survey } from '../rules/survey.js';
import { store } from '../store/store.js';

/** @typedef {import('../rules/survey.js').ViewRecord} ViewRecord */
/**
 * `readings` are all of the group that are not removed; `others` is group, kind and readings of each other group of
 * the kind that is to be converted.
 *
 * @typedef {object} Found
 * @property {any} group
 * @property {any} kind
 * @property {any} room
 * @property {any} floor
 * @property {any} site
 * @property {any[]} readings
 * @property {Array<[any, any, any[]]>} others
 * @property {any[]} trials trial bars of the group, voided ones too
 * @property {any[]} bars
 * @property {Record<string, any>} money the site's; empty where there is none, or this person may not see it
 * @property {Record<string, any>} prices by item
 */

/**
 * @param {any} site an opened site @param {string} id
 * @returns {Promise<Found | null>} null where the group is not on this phone, or removed
 */
export async function findGroup(site, id) {
  const group = await site.get(id);
  if (group?.type !== 'group' || group.removed) return null;
  const kindId = facet(group, 'identity').kind;
  const [kind, own, items, alike, money, prices, trials] = await Promise.all([
    kindId && site.get(kindId),
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
    room: survey.roomOf(group) ?? null,
    floor: survey.floorOf(group) ?? null,
    site: survey.site(),
    readings: survey.children(group, 'cavity_reading'),
    others: others.map((each) => [each, kind, survey.children(each, 'cavity_reading')]),
    trials,
    bars: items.filter((/** @type {any} */ item) => has(item, 'bar')),
    money: facet(money[0], 'identity'),
    prices: Object.fromEntries(
      prices.map((/** @type {any} */ each) => [each.parent, facet(each, 'identity')]),
    ),
  };
}

/** Groups with their readings, their rooms and the floors of these. @param {any} site @param {any[]} groups */
async function withRooms(site, groups) {
  /** @param {any[]} records */
  const parents = async (records) => {
    const ids = [...new Set(records.map((each) => each.parent))];
    return (await Promise.all(ids.map((id) => site.get(id)))).filter(Boolean);
  };
  const readings = await Promise.all(groups.map((each) => site.children(each.id, 'cavity_reading')));
  const rooms = await parents(groups);
  return [...groups, ...readings.flat(), ...rooms, ...(await parents(rooms))];
}

/**
 * What the rules say of the group; null while its kind or its room is not on this phone.
 *
 * @param {Found} found @param {any} [draft] a reading that is being typed
 * @returns {Record<string, any> | null}
 */
export function judged(found, draft) {
  const { group, kind, room, site, readings, others, bars, trials } = found;
  if (!kind || !room) return null;
  const all = draft ? [...readings.filter((each) => each.id !== draft.id), draft] : readings;
  return judgeGroup(group, kind, room, site, all, others, bars, store.tables.reference, trials);
}

/**
 * What was read of the kind where the best row fits by the lamp alone and that is not enough to release it; null else.
 * Only what is kept counts: a reading that is being typed is none of it.
 *
 * @param {Found} found @param {any} told
 */
export function witnessWanted({ group, kind, readings, others }, told) {
  const { reference } = store.tables;
  const asked = (/** @type {any[]} */ own) => questionsOf(counting(own), kind, reference);
  const read = readOfKind([
    [group, kind, readings, asked(readings)],
    ...others.map(
      ([other, its, own]) => /** @type {[any, any, any[], any]} */ ([other, its, own, asked(own)]),
    ),
  ]);
  return needsWitness(group, bestOf(told), read) ? { fixtures: read.fixtures, wanted: LEAST_FIXTURES } : null;
}

/** The best row of bars, where anything can be told. @param {any} told @returns {any | null} */
export const bestOf = (told) => (told && told.best !== null ? told.fits[told.best] : null);

/** @param {any} told @returns {string} */
export const verdictOf = (told) => bestOf(told)?.verdict ?? 'cannot tell';

/** What it would cost if the best row of bars did not go in. @param {Found} found @param {any} told */
export function misfitOf({ room, money, prices }, told) {
  const access = facet(room, 'ceiling').access ?? 'not seen';
  return { currency: money.currency, ...misfitCost(bestOf(told).bars, prices, money, access) };
}

/** Readings that count: neither voided nor set aside. @param {any[]} readings */
export const counted = (readings) =>
  readings.filter((each) => !has(each, 'voided') && !has(each, 'set_aside'));

/** What bars are called, in order: '2 × SB-1120 + SB-560'. @param {string[]} ids @param {any[]} bars */
export function barNames(ids, bars) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const id of ids) counts.set(id, (counts.get(id) ?? 0) + 1);
  return [...counts]
    .map(([id, count]) => (count > 1 ? `${count} × ` : '') + barName(bars.find((bar) => bar.id === id)))
    .join(' + ');
}

/** @param {any} bar */
function barName(bar) {
  const { code, name } = facet(bar, 'identity');
  return (
    name || code || (bar ? `bar of ${barOf(bar).length_ticks / 320} mm` : 'a bar that is not on this phone')
  );
}
