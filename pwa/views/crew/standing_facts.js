// How released conversions stand, read from the phone alone: of one fixture, and of all groups of a site.

import { doneAt, newestOf, notReleased, STOP, standingOf } from '../../rules/since_release/standing.js';
import { Survey } from '../../rules/survey.js';

/** @typedef {import('../../rules/since_release/standing.js').Standing} Standing */
/** @typedef {import('../../rules/since_release/standing.js').Done} Done */

/**
 * How a fixture stands: its newest conversion, what was done on it, how its group stands, and which fixtures of that the release has not. Null
 * where nothing is released for it.
 *
 * @param {Site} site @param {string} groupId @param {number} position
 * @returns {Promise<{now: Standing, done: Done | null, conversion: string, group: Standing, further: number[]} | null>}
 */
export async function readStanding(site, groupId, position) {
  const survey = new Survey(await recordsAround(site, groupId));
  /** @type {ViewRecord<'group'> | undefined} */
  const group = survey.get(groupId);
  const conversion = group && newestOf(survey, group);
  if (!group || !conversion) return null;
  const whole = standingOf(survey, conversion, site.reference);
  return {
    now: standingOf(survey, conversion, site.reference, position),
    done: doneAt(survey, group, position, site.reference),
    conversion: conversion.id,
    group: whole,
    further: notReleased(whole),
  };
}

/**
 * How every released group stands, by group id.
 *
 * @param {Site} site
 * @returns {Promise<Map<string, Standing>>}
 */
export async function readStandings(site) {
  const survey = new Survey(await site.everything());
  return standingsOf(survey, site.reference);
}

/** How every released group stands, by group id. @param {Survey} survey @param {Reference} tables @returns {Map<string, Standing>} */
export function standingsOf(survey, tables) {
  /** @type {Map<string, Standing>} */
  const found = new Map();
  for (const group of survey.ofType('group')) {
    const conversion = newestOf(survey, group);
    if (conversion) found.set(group.id, standingOf(survey, conversion, tables));
  }
  return found;
}

/** Whether nothing may be noted as done; so it is too while nobody has looked yet. @param {{now: Standing} | null | undefined} stands */
export const isLocked = (stands) => stands === undefined || (stands?.now.locked ?? false);

/** Whether a crew is to keep away from it. @param {Standing | undefined} stands */
export const keepsAway = (stands) => stands?.standing === STOP || stands?.standing === 'withdrawn';

/** What the rule looks at: the group with all about it, its partner with theirs, the catalogue. @param {Site} site @param {string} groupId */
async function recordsAround(site, groupId) {
  const [own, items, panels, siteRecord] = await Promise.all([
    groupWithAll(site, groupId),
    site.all('catalogue_item'),
    site.all('panel'),
    site.get(site.id),
  ]);
  const partners = own.flatMap(({ facets }) => facets.identity?.facts?.partner ?? []);
  const others = await Promise.all([...new Set(partners)].map((id) => groupWithAll(site, id)));
  const found = /** @type {RecordView[]} */ (
    [...own, ...others.flat(), ...items, ...panels, siteRecord].filter(Boolean)
  );
  return new Map(found.map((record) => [record.id, record])).values();
}

/** A group with its room, floor, kind, all below it and the releases it is in. @param {Site} site @param {string} id @returns {Promise<RecordView[]>} */
async function groupWithAll(site, id) {
  const group = await site.get(id);
  if (!group) return [];
  const [room, kind, below] = await Promise.all([
    site.get(group.parent ?? ''),
    site.get(group.facets.identity?.kind ?? ''),
    site.children(id),
  ]);
  const releases = below.flatMap(({ facets }) => facets.identity?.release ?? []);
  const above = await Promise.all([room?.parent ?? '', ...new Set(releases)].map((each) => site.get(each)));
  return /** @type {RecordView[]} */ ([group, room, kind, ...below, ...above].filter(Boolean));
}
