// Steps of a claim in the order of their days, and whether a day can be one.

import { facet } from '../../rules/survey.js';

const DAY = /^\d{4}-\d{2}-\d{2}$/;

/** @param {RecordView<'claim_step'>[]} steps @returns {RecordView<'claim_step'>[]} */
export function inOrder(steps) {
  const key = (/** @type {RecordView<'claim_step'>} */ each) => {
    const { on = '', noted_at = '' } = facet(each, 'identity');
    return `${on} ${noted_at} ${each.id}`;
  };
  return [...steps].sort((a, b) => (key(a) < key(b) ? -1 : 1));
}

/** What is wrong with the day of a step, or null. @param {string} value @param {string} today */
export function dayProblem(value, today) {
  const read = DAY.test(value) ? new Date(`${value}T00:00:00Z`) : null;
  if (!read || Number.isNaN(read.getTime()) || read.toISOString().slice(0, 10) !== value)
    return { code: 'memory.claims.day-wrong', facts: { value } };
  return value > today ? { code: 'memory.claims.day-later', facts: { value } } : null;
}
