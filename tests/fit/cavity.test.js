// The page trusts the same cavity as the server: the vectors of tests/vectors/cavity.json.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import {
  boughtBy,
  gapBetweenClusters,
  joined,
  measureMore,
  trustedCavity,
  without,
} from '../../pwa/rules/fit/cavity.js';

const read = (path) => JSON.parse(readFileSync(new URL(path, import.meta.url), 'utf8'));
const {
  base,
  bought_by,
  cases,
  clusters,
  joined: of_one,
  measure_more,
  without: pools,
} = read('../vectors/cavity.json');
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

test('readings of one cavity are the cavity that they are on the server', () => {
  for (const { name, readings, expect } of of_one) assert.deepEqual(joined(readings), expect, name);
  assert.equal(joined(of_one[0].readings, false).inside, false);
});

test('of pooled spreads is left what is left on the server', () => {
  const plain = ({ squares_ticks2, degrees }) => ({ squares_ticks2: Number(squares_ticks2), degrees });
  for (const { name, whole, part, left } of pools) assert.deepEqual(plain(without(whole, part)), left, name);
});

test('two makes stand apart as on the server', () => {
  for (const { name, lengths_ticks, gap_ticks } of clusters)
    assert.equal(gapBetweenClusters(lengths_ticks), gap_ticks, name);
});
