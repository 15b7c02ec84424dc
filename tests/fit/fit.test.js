// What fits on the page is what fits on the server: the vectors of tests/vectors/fit.json.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { fitRow } from '../../pwa/rules/fit/fit.js';

const read = (path) => JSON.parse(readFileSync(new URL(path, import.meta.url), 'utf8'));
const { base, cases } = read('../vectors/fit.json');
const expansion = read('../../seed_data/reference/expansion.json');

test('what fits is what the server says', () => {
  for (const { name, with: change, expect } of cases) {
    const { trusted, bars, around } = { ...base, ...change };
    const found = fitRow(trusted, bars, around, expansion);
    const shown = Object.fromEntries(Object.keys(expect).map((key) => [key, found[key]]));
    assert.deepEqual(shown, expect, name);
  }
});
