// Corners of the curve of failures, its range, and the line that the data sheet makes one expect.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { expectedLine, rangeOf, stairs } from '../../pwa/views/desk/upkeep/failure_curve.js';

const STEPS = [
  { hours: 10, at_work: 4, failed: 1, failed_pct: 25, low_pct: 4, high_pct: 87 },
  { hours: 30, at_work: 1, failed: 1, failed_pct: 100, low_pct: null, high_pct: null },
];

test('the share stays until something fails and is drawn to the longest time', () => {
  assert.deepEqual(stairs(STEPS, 40), [[0, 0], [10, 0], [10, 25], [30, 25], [30, 100], [40, 100]]);
});

test('the range goes out above and back below', () => {
  const points = rangeOf(STEPS, 40);
  assert.deepEqual(points.slice(0, 3), [[0, 0], [10, 0], [10, 87]]);
  assert.deepEqual(points.slice(-3), [[10, 4], [10, 0], [0, 0]]);
});

test('the expected line is that of the server: 10 % at the end of life, 5.1317 % at half of it', () => {
  const line = expectedLine(50_000, 10, 50_000);
  assert.equal(line.at(-1)?.[1].toFixed(6), '10.000000');
  assert.equal(line[line.length >> 1][1].toFixed(4), '5.1317');
});
