// A manager's answer that holds no more after a count was raised: for how many fixtures it was given.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { fingerprintOf } from '../../pwa/rules/since_release/standing.js';
import { answeredForFewer } from '../../pwa/views/crew/earlier_answer.js';

const leak = { fact: 'kind.ballast.leaking', weight: 'stop', before: null, now: 'yes' };
const count = (/** @type {number} */ now) => ({ fact: 'group.count.count', weight: 'look', before: 6, now });
const further = (/** @type {number[]} */ now) => ({ fact: 'not-in-release', weight: 'look', before: null, now });
const NOW = [leak, count(9), further([7, 8, 9])];

test('an answer given before the count was raised was for the fixtures of the release', () => {
  assert.deepEqual(answeredForFewer(NOW, fingerprintOf([leak])), { before: 6, now: 9 });
});

test('an answer given between two raises was for as many as there were then', () => {
  const then = fingerprintOf([leak, count(8), further([7, 8])]);
  assert.deepEqual(answeredForFewer(NOW, then), { before: 8, now: 9 });
});

test('where something else changed as well nothing is said of fixtures', () => {
  assert.equal(answeredForFewer([...NOW, { ...leak, fact: 'kind.wiring.feeds' }], fingerprintOf([leak])), null);
  assert.equal(answeredForFewer([leak], 'b15645ec4395c915'), null);
});
