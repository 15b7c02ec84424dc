// Counting a delivery: taps and typed numbers.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { allGood, countOf, hasCount, stepped } from '../../pwa/views/ordering/counting.js';

const NOTHING = { good: '', damaged: '', wrong: '', short: '', came_instead: '' };

test('what is no whole number from nought on is no count', () => {
  assert.deepEqual(['', ' 7 ', '0', '1000000'].map(countOf), [0, 7, 0, 1_000_000]);
  for (const text of ['-1', '1.5', 'ten', '1000001']) assert.ok(Number.isNaN(countOf(text)), text);
});

test('one broken of forty is thirty-nine good ones and a broken one', () => {
  const typed = stepped(allGood(NOTHING, 40), 'damaged', 1, 40);
  assert.deepEqual([typed.good, typed.damaged], ['39', '1']);
  const two = stepped(typed, 'wrong', 1, 40);
  assert.deepEqual([two.good, two.damaged, two.wrong], ['38', '1', '1']);
});

test('good ones that were counted apart stay as they were counted', () => {
  const typed = stepped({ ...NOTHING, good: '10' }, 'short', 1, 40);
  assert.deepEqual([typed.good, typed.short], ['10', '1']);
});

test('no count goes below nought, and one less takes nothing off the good ones', () => {
  assert.equal(stepped(NOTHING, 'damaged', -1, 40).damaged, '0');
  assert.deepEqual(stepped({ ...NOTHING, good: '40', damaged: '2' }, 'damaged', -1, 40).good, '40');
});

test('a nought that was typed is a count', () => {
  assert.equal(hasCount(NOTHING), false);
  assert.equal(hasCount({ ...NOTHING, good: '0' }), true);
});
