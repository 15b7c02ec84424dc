// The page trusts the same cavity as the server: the vectors of tests/vectors/cavity.json.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { boughtBy, measureMore, trustedCavity } from '../../pwa/rules/cavity.js';

const read = (path) => JSON.parse(readFileSync(new URL(path, import.meta.url), 'utf8'));
const { base, bought_by, cases, measure_more } = read('../vectors/cavity.json');
const factors = read('../../seed_data/reference/prediction.json');

test('what is trusted is what the server trusts', () => {
  for (const { name, with: change, expect } of cases) {
    const found = trustedCavity({ ...base, ...change }, factors);
    const shown = Object.fromEntries(Object.keys(expect).map((key) => [key, found[key]]));
    assert.deepEqual(shown, expect, name);
  }
});

test('as many more are to be read as the server says', () => {
  for (const { name, with: change, needed_ticks, more } of measure_more) {
    assert.equal(measureMore({ ...base, ...change }, needed_ticks, factors), more, name);
  }
});

test('reading more buys what the server says', () => {
  for (const { name, with: change, more, buys } of bought_by) {
    assert.deepEqual(boughtBy({ ...base, ...change }, more, factors), buys, name);
  }
});
