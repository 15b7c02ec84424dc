// Where 'fits' rests on the lamp alone: was enough of the kind read to release it? Twin: server/spanwalk/rules/fit/by_lamp.py.

import * as constants from '../constants.js';
import { facet } from '../survey.js';
import { counting, isInside, keyOf, placeOf, populationOf } from './sampling.js';

/** A group, its kind, all its readings that are not removed, and the questions about them by reading id. @typedef {[ViewRecord<'group'>, ViewRecord<'kind'>, ViewRecord<'cavity_reading'>[], Record<string, Reason[]>]} GroupRead */
/**
 * What was read of a kind: in how many fixtures, how many cavities, and of how many there are; null where not counted.
 * @typedef {{fixtures: number, cavities: number, population: number | null}} ReadOfKind
 */

/** Fixtures of the kind in which a cavity was read (common practice). */
export const LEAST_FIXTURES = constants.LEAST_FIXTURES;
const WITH_THIS = constants.WITH_THIS;

/** Whether cavities were read in three different fixtures, or all that there are. @param {ReadOfKind} read */
export function isEnough({ fixtures, cavities, population }) {
  return fixtures >= LEAST_FIXTURES || (population !== null && population > 0 && population <= cavities);
}

/**
 * What was read of a kind, over all its groups that are to be converted; see the twin.
 * @param {GroupRead[]} groups of one kind @returns {ReadOfKind}
 */
export function readOfKind(groups) {
  const [fixtures, cavities] = [new Set(), new Set()];
  for (const [group, kind, readings, asked] of groups) {
    for (const each of counting(readings)) {
      const place = placeOf(each);
      if (!isWitness(each, asked) || !isInside(place, group, kind)) continue;
      fixtures.add(`${group.id} ${place[0]}`);
      cavities.add(`${group.id} ${keyOf(place)}`);
    }
  }
  const populations = groups.map(([group, kind, readings]) => populationOf(group, kind, readings, new Set()));
  const whole = populations.includes(null)
    ? null
    : populations.reduce((total, each) => Number(total) + Number(each), 0);
  return { fixtures: fixtures.size, cavities: cavities.size, population: whole };
}

/** @param {ViewRecord<'cavity_reading'>} reading @param {Record<string, Reason[]>} asked */
function isWitness(reading, asked) {
  const wentIn = facet(reading, 'identity').instrument !== 'gauge-does-not-go';
  return (
    wentIn && (!(reading.id in asked) || facet(reading, 'confirmed').answer === 'it-is-what-the-tape-shows')
  );
}

/** Whether a verdict is a 'fits' that the lamp alone proves. @param {Fit | null | undefined} fit */
export const isByLamp = (fit) => fit?.verdict === 'fits' && fit.basis === 'lamp';

/**
 * Whether a 'fits' by the lamp still wants readings of the kind, a trial bar that went in, or a manager's word.
 * @param {ViewRecord<'group'>} group @param {Fit | null} fit @param {ReadOfKind} read
 */
export function needsWitness(group, fit, read) {
  const tried = (fit?.trial?.tried ?? 0) > 0;
  return isByLamp(fit) && !(isEnough(read) || tried || isLampAccepted(group));
}

/** Whether a manager has accepted the lamp as the gauge: decided for an arrangement, with a reason. @param {ViewRecord<'group'>} group */
export function isLampAccepted(group) {
  const { decision, accepts_lamp: accepts, reason } = facet(group, 'decision');
  return decision === WITH_THIS && accepts === true && Boolean(reason);
}
