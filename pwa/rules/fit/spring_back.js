// How far do the holders of a kind yield to a lamp: measured, said by the site, or usual? Twin: server/spanwalk/rules/fit/spring_back.py

import { ceilDiv, ceilSqrt } from '../integer_math.js';
import { facet } from '../survey.js';
import { factorThousandths } from './prediction.js';

/** How far a pair yields at most [1/320 mm], and how that is known. @typedef {{ticks: number, how: 'measured' | 'site' | 'usual'}} SpringBack */

export const PAIRS = /** @type {const} */ ([
  'first_ticks',
  'second_ticks',
  'third_ticks',
  'fourth_ticks',
  'fifth_ticks',
]);

/**
 * How far the holders of a kind yield: from its five pairs, else as the site says, else 2 mm (source: see the twin).
 * @param {ViewRecord<'kind'>} kind @param {ViewRecord<'site'>} site
 * @param {number | null} cavities of the group, none of which may yield by more; null counts as the most that the table knows
 * @param {Reference} tables reference tables: lamps, prediction @returns {SpringBack} rounded up
 */
export function springBack(kind, site, cavities, tables) {
  const pairs = fivePairs(kind);
  if (pairs)
    return { ticks: atMost(pairs, graduationOf(kind, tables), cavities, tables.prediction), how: 'measured' };
  const ofSite = facet(site, 'settings').spring_back_ticks;
  if (ofSite !== undefined) return { ticks: ofSite, how: 'site' };
  return { ticks: tables.lamps.spring_back[0].ticks, how: 'usual' };
}

/** By how much each of five pairs yielded [1/320 mm]; null where not all five were entered. @param {ViewRecord<'kind'>} kind @returns {number[] | null} */
export function fivePairs(kind) {
  const said = facet(kind, 'spring_back');
  const found = PAIRS.flatMap((name) => said[name] ?? []);
  return found.length === PAIRS.length ? found : null;
}

/** Whether the holders slide on a spring, so that a lamp in them is no gauge. @param {ViewRecord<'kind'>} kind */
export const isSprung = (kind) => facet(kind, 'spring_back').holders === 'sprung';

/**
 * What no pair of the group exceeds at 95 %: mean + r s of the five, never under the greatest of them; see the twin.
 * @param {number[]} pairs by how much each yielded @param {number} graduationTicks @param {number | null} cavities
 * @param {Reference['prediction']} factors prediction.json @returns {number}
 */
export function atMost(pairs, graduationTicks, cavities, factors) {
  const n = pairs.length;
  const total = (/** @type {number[]} */ values) => values.reduce((sum, each) => sum + each, 0);
  const mean = ceilDiv(total(pairs), n);
  const seen = ceilSqrt(ceilDiv(total(pairs.map((each) => (each - mean) ** 2)) * 1_000_000, n - 1));
  const told = ceilSqrt(ceilDiv(graduationTicks ** 2 * 1_000_000, 6));
  const most = factors.m[factors.m.length - 1];
  const factor = factorThousandths(n, Math.min(cavities || most, most), n - 1, factors) ?? 0;
  return Math.max(mean + ceilDiv(factor * Math.max(seen, told), 1_000_000), ...pairs);
}

/** Smallest division of what the pairs were read with; of a tape where nobody said. @param {ViewRecord<'kind'>} kind @param {Reference} tables @returns {number} */
function graduationOf(kind, tables) {
  const tools = tables.lamps.spring_back_tools;
  const said = facet(kind, 'spring_back').instrument;
  return (tools.find((row) => row.instrument === said) ?? tools[0]).graduation_ticks;
}
