// What the readings of each group come to, for all groups of a site. Twin: server/spanwalk/rules/judging/judged.py.

import { readOfKind } from '../fit/by_lamp.js';
import { pooled, without } from '../fit/cavity.js';
import { spreadOfGroup } from '../fit/sampling.js';
import { has, pushTo } from '../survey.js';
import { degreeOf } from './degree.js';
import { judgeGroup } from './judging.js';

/** @typedef {import('../survey.js').Survey} Survey */

/**
 * Judge every group that is to be converted and has a kind and a room.
 * @param {Survey} survey the site's records
 * @param {Reference} tables reference tables
 * @param {typeof judgeGroup} [judge] instead of `judgeGroup`
 * @returns {Record<string, Judgement>} judgements by group id
 */
export function judgeGroups(survey, tables, judge = judgeGroup) {
  return atOnce(judging(survey, tables, judge));
}

/** What a generator comes to, without a pause. @template T @param {Generator<void, T>} steps @returns {T} */
export function atOnce(steps) {
  for (;;) {
    const { done, value } = steps.next();
    if (done) return value;
  }
}

/**
 * The same a kind at a time: between two of them the page may do something else.
 * @param {Survey} survey the site's records
 * @param {Reference} tables reference tables
 * @param {typeof judgeGroup} judge
 * @returns {Generator<void, Record<string, Judgement>>} judgements by group id
 */
export function* judging(survey, tables, judge) {
  const bars = survey.ofType('catalogue_item').filter((item) => has(item, 'bar'));
  /** @type {Record<string, Judgement>} */
  const found = {};
  for (const theirs of byKind(survey).values()) {
    const spreads = theirs.map((each) => spreadOfGroup(...each, tables));
    const ofKind = pooled(spreads);
    theirs.forEach(([group, kind, own], place) => {
      const room = survey.roomOf(group);
      const elsewhere = without(ofKind, spreads[place]);
      const trials = survey.children(group, 'trial_bar');
      if (room)
        found[group.id] = judge(group, kind, room, survey.site(), own, elsewhere, bars, tables, trials);
    });
    yield;
  }
  return found;
}

/**
 * How sure the verdict on each judged group is, by group id.
 * @param {Survey} survey the site's records @param {Record<string, Judgement>} judgements by group id @returns {Record<string, Degree>}
 */
export function degrees(survey, judgements) {
  /** @type {Record<string, Degree>} */
  const found = {};
  for (const theirs of byKind(survey).values()) {
    const read = readOfKind(
      theirs.map(([group, kind, own]) => [group, kind, own, judgements[group.id]?.questions ?? {}]),
    );
    for (const [group] of theirs) {
      const told = judgements[group.id];
      if (told) found[group.id] = degreeOf(group, told, read);
    }
  }
  return found;
}

/**
 * Kind id -> its groups with the kind and their readings, voided and set-aside ones too.
 * @param {Survey} survey
 */
function byKind(survey) {
  /** @type {Map<string, [ViewRecord<'group'>, ViewRecord<'kind'>, ViewRecord<'cavity_reading'>[]][]>} */
  const found = new Map();
  for (const group of survey.groupsToConvert()) {
    const kind = survey.kindOf(group);
    if (kind) pushTo(found, kind.id, [group, kind, survey.children(group, 'cavity_reading')]);
  }
  return found;
}
