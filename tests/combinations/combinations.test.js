// The page refuses at the form what the server refuses at push: the same cases.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { broken, rowsOf } from '../../pwa/rules/combinations.js';

const read = (/** @type {string} */ path) =>
  JSON.parse(readFileSync(new URL(`../../${path}`, import.meta.url), 'utf8'));
const { cases } = read('tests/vectors/combinations.json');
const { records } = read('server/spanwalk/spec/records.json');
const tables = { combinations: read('seed_data/reference/combinations.json') };

test('what cannot stand together is found, with field, value and what would be right', () => {
  for (const { name, type, facet, value, found } of cases) {
    assert.deepEqual(
      broken(value, rowsOf(type, facet, tables), records[type].facets[facet].fields),
      found,
      name,
    );
  }
});

test('without the table nothing is held against anything', () => {
  for (const { type, facet } of cases) assert.deepEqual(rowsOf(type, facet, {}), []);
});
