// The page keeps numbers of a kind under the same names as the server, and believes them as often: tests/vectors/firm_numbers.json.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { ageBand, isOdd, keysOf } from '../../pwa/rules/judging/firm_numbers.js';

const read = (path) => readFileSync(new URL(path, import.meta.url), 'utf8');
// A sum beyond 2^53 comes as text of JSON: read as a bigint.
const vectors = JSON.parse(
  read('../vectors/firm_numbers.json').replace(/"squares_ticks2": (\d{16,})/g, '"squares_ticks2": "$1"'),
);
const factors = JSON.parse(read('../../seed_data/reference/prediction.json'));

test('a date on a ballast has the band of the server', () => {
  assert.deepEqual(
    vectors.ages.map(({ made }) => ageBand(made)),
    vectors.ages.map(({ band }) => band),
  );
});

test('numbers of a kind have the names of the server', () => {
  for (const { name, facets, keys } of vectors.keys) assert.deepEqual(keysOf({ facets }), keys, name);
});

test('a site is odd beyond the same point as on the server', () => {
  for (const { name, squares_ticks2: squares, degrees, firm, odd } of vectors.odd) {
    assert.equal(isOdd(BigInt(squares), degrees, firm, factors), odd, name);
  }
});
