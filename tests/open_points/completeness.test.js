// The page tells the same shares as the server.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { completeness } from '../../pwa/rules/points/completeness.js';
import { openPoints } from '../../pwa/rules/points/open_points.js';
import { patched } from './planting.js';

const read = (name) => JSON.parse(readFileSync(new URL(`../vectors/${name}.json`, import.meta.url), 'utf8'));

test('completeness', () => {
  const { site, facts } = read('open_points');
  for (const { name, plant, facts: more, told } of read('completeness').cases) {
    const records = patched(site, plant);
    const points = openPoints(records, { ...facts, ...more }, {});
    assert.deepEqual(completeness(records, points), told, name);
  }
});
