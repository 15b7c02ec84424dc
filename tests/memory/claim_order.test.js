// Steps of a claim in the order of their days, and days that are none.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { dayProblem, inOrder } from '../../pwa/views/parts/claim_order.js';

const step = (id, on, noted_at) => ({ id, type: 'claim_step', facets: { identity: { on, noted_at } } });

test('steps stand by their day, those of one day as they were noted', () => {
  const steps = [step('c', '2028-02-01', '2'), step('b', '2028-02-01', '1'), step('a', '2028-03-01', '0')];
  assert.deepEqual(inOrder(steps).map(({ id }) => id), ['b', 'c', 'a']);
});

test('a day that is none, or is still to come, is named', () => {
  for (const value of ['', '2028-2-1', '2028-02-30', 'yesterday'])
    assert.equal(dayProblem(value, '2028-03-01')?.code, 'memory.claims.day-wrong', value);
  assert.equal(dayProblem('2028-03-02', '2028-03-01')?.code, 'memory.claims.day-later');
  assert.equal(dayProblem('2028-03-01', '2028-03-01'), null);
  assert.equal(dayProblem('2028-02-29', '2028-03-01'), null);
});
