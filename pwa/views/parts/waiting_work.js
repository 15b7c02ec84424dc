// Reads how much of the crews' work waits for a manager. It comes after the first screen: it needs the rules of outcomes.

import {
  differenceState,
  differs,
  lastOfAll,
  passedOver,
  problemState,
  UNANSWERED,
  WAITS,
} from '../../rules/installing/outcomes.js';
import { facet, Survey } from '../../rules/survey.js';

const TYPES = /** @type {const} */ (['installation', 'problem_answer', 'problem_reply', 'difference_answer']);

/** @typedef {import('./waits.js').Waits} Waits */

/**
 * Read from these records alone: a bar is drawn on every screen, and a site may have twenty thousand groups.
 *
 * @param {Site} site @returns {Promise<Waits>}
 */
export async function readWaits(site) {
  const records = (await Promise.all(TYPES.map((type) => site.all(type)))).flat();
  const told = new Survey(/** @type {ViewRecord[]} */ (records));
  const noted = await inLiveGroups(site, told.ofType('installation'));
  const last = lastOfAll(noted);
  const problems = last.filter(
    (each) => facet(each, 'identity').outcome === 'problem' && WAITS.includes(problemState(told, each)),
  );
  const hidden = passedOver(noted).filter((each) => problemState(told, each) === UNANSWERED);
  const fitted = last.filter((each) => WAITS.includes(differenceState(told, each)));
  return { problems: problems.length + hidden.length, fitted: fitted.length };
}

/**
 * Notes in groups that are there: those of a removed group stay as a record, and wait for nobody.
 *
 * @param {Site} site @param {ViewRecord<'installation'>[]} noted @returns {Promise<ViewRecord<'installation'>[]>}
 */
async function inLiveGroups(site, noted) {
  const waiting = noted.filter((each) => facet(each, 'identity').outcome !== 'done' || differs(each));
  const ids = [...new Set(waiting.map(({ parent }) => parent ?? ''))];
  const groups = await Promise.all(ids.map((id) => site.get(id)));
  const removed = new Set(groups.flatMap((group) => (group?.removed ? [group.id] : [])));
  return noted.filter(({ parent }) => !removed.has(parent ?? ''));
}
