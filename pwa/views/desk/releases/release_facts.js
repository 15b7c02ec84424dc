// The releases of a site as the desk shows them, read from the device: what each froze, and how it stands by now.

import { lastWords } from '../../../rules/installing/last_word.js';
import { standingOf } from '../../../rules/since_release/standing.js';
import { facet, has, markOf, nameOfRoom, Survey } from '../../../rules/survey.js';
import { arrangementText } from '../../coded_text.js';

/** @typedef {import('../../../rules/since_release/standing.js').Standing} Standing */
/** @typedef {{group: string, conversion: string, room: string, mark: string, summary: string, stands: Standing, done: number}} InRelease */
/**
 * @typedef {{id: string, number: number, madeAt: string, note: string, catalogue: string, groups: InRelease[], fixtures: number,
 *   withdrawn: string | null, counts: Record<string, number>}} Released
 */

/** Every release, the newest first. @param {Site} site @returns {Promise<Released[]>} */
export async function readReleases(site) {
  const survey = new Survey(await site.everything());
  /** @type {Map<string, InRelease[]>} */
  const inRelease = new Map();
  for (const conversion of survey.ofType('conversion')) {
    const { release } = facet(conversion, 'identity');
    const beside = inRelease.get(release);
    const told = inOne(survey, conversion, site.reference);
    if (beside) beside.push(told);
    else inRelease.set(release, [told]);
  }
  return survey
    .ofType('release')
    .map((release) => releasedOf(release, inRelease.get(release.id) ?? []))
    .sort((a, b) => b.number - a.number);
}

/** @param {ViewRecord<'release'>} release @param {InRelease[]} groups @returns {Released} */
function releasedOf(release, groups) {
  const { number, made_at: madeAt, note = '', fixtures = 0, catalogue = '' } = facet(release, 'identity');
  /** @type {Record<string, number>} */
  const counts = {};
  for (const { stands } of groups) counts[stands.standing] = (counts[stands.standing] ?? 0) + 1;
  const withdrawn = has(release, 'withdrawn') ? (facet(release, 'withdrawn').reason ?? null) : null;
  const sorted = [...groups].sort(
    (a, b) => place(a) - place(b) || a.room.localeCompare(b.room, undefined, { numeric: true }),
  );
  return { id: release.id, number, madeAt, note, fixtures, catalogue, groups: sorted, withdrawn, counts };
}

/** What needs somebody comes first. */
const FIRST = ['stop', 'look', 'in force', 'withdrawn', 'superseded'];
/** @param {InRelease} each */
const place = (each) => FIRST.indexOf(each.stands.standing);

/** @param {Survey} survey @param {ViewRecord<'conversion'>} conversion @param {Reference} tables @returns {InRelease} */
function inOne(survey, conversion, tables) {
  const group = /** @type {ViewRecord<'group'>} */ (survey.get(conversion.parent));
  const { summary, arrangement } = facet(conversion, 'identity');
  const done = [...lastWords(survey.children(group, 'installation')).values()].filter(
    (each) =>
      facet(each, 'identity').conversion === conversion.id && facet(each, 'identity').outcome === 'done',
  );
  return {
    group: group.id,
    conversion: conversion.id,
    room: nameOfRoom(survey.roomOf(group)),
    mark: markOf(survey.kindOf(group)),
    summary: arrangementText(summary ?? arrangement),
    stands: standingOf(survey, conversion, tables),
    done: done.length,
  };
}
