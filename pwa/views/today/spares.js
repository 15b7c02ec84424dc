// Spares that were used: of each part how many, and how many of them today, from what was noted last on each fixture. Pure.

import { sparesUsed } from '../../rules/installing/as_fitted.js';
import { facet } from '../../rules/survey.js';
import { dayOf } from './days.js';

/** @typedef {import('../crew/jobs.js').Job} Job */
/** @typedef {{code: string, number: number, today: number}} SpareLine */

/**
 * @param {Job[]} jobs whose fixtures are looked at @param {string} day of today, '2026-03-10'
 * @returns {SpareLine[]} by code
 */
export function spareLines(jobs, day) {
  const done = jobs
    .flatMap(({ told }) => [...told.values()])
    .filter(({ outcome }) => outcome === 'done')
    .map(({ record }) => record);
  const today = sparesUsed(done.filter((record) => notedOn(record) === day));
  return Object.entries(sparesUsed(done)).map(([code, number]) => ({
    code,
    number,
    today: today[code] ?? 0,
  }));
}

/** @param {RecordView<'installation'>} record */
function notedOn(record) {
  const at = new Date(facet(record, 'identity').noted_at ?? '');
  return Number.isNaN(at.getTime()) ? '' : dayOf(at);
}
