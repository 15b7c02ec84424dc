// How much of the crews' work waits for a manager: what stands beside the desk's places.

import { differenceState, lastOfAll, problemState, WAITS } from '../../rules/outcomes.js';
import { facet, Survey } from '../../rules/survey.js';
import { useLive } from '../hooks.js';

const TYPES = /** @type {const} */ (['installation', 'problem_answer', 'problem_reply', 'difference_answer']);

/** Numbers by the place at which they are dealt with. @typedef {{problems: number, fitted: number}} Waits */

/**
 * Read from these records alone: a bar is drawn on every screen, and a site may have twenty thousand groups.
 *
 * @param {Site} site @returns {Promise<Waits>}
 */
export async function readWaits(site) {
  const records = (await Promise.all(TYPES.map((type) => site.all(type)))).flat();
  const told = new Survey(/** @type {ViewRecord[]} */ (records));
  const last = lastOfAll(told.ofType('installation'));
  const problems = last.filter(
    (each) => facet(each, 'identity').outcome === 'problem' && WAITS.includes(problemState(told, each)),
  );
  const fitted = last.filter((each) => WAITS.includes(differenceState(told, each)));
  return { problems: problems.length, fitted: fitted.length };
}

/** @param {Site | undefined} site @returns {Waits} */
export const useWaits = (site) => useLive(async () => (site ? readWaits(site) : NONE), [site?.id]) ?? NONE;

const NONE = { problems: 0, fitted: 0 };
