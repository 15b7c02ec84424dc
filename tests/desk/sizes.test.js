// A file that holds something is never said to be nothing.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { sizeOf } from '../../pwa/views/desk/size.js';

test('a small file is told in kilobytes, from a tenth of a megabyte on in megabytes', () => {
  assert.deepEqual(sizeOf(4_210_000), { unit: 'megabytes', size: 4.21, digits: 1 });
  assert.deepEqual(sizeOf(100_000), { unit: 'megabytes', size: 0.1, digits: 1 });
  assert.deepEqual(sizeOf(99_999), { unit: 'kilobytes', size: 100, digits: 0 });
  assert.deepEqual(sizeOf(17_001), { unit: 'kilobytes', size: 18, digits: 0 });
});

test('what is not empty has at least a kilobyte, and what is empty has none', () => {
  assert.equal(sizeOf(1).size, 1);
  assert.equal(sizeOf(0).size, 0);
});
