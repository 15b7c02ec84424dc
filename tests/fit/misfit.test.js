// A misfit costs on the page what it costs on the server: the vectors of tests/vectors/misfit.json.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { misfitCost } from '../../pwa/rules/fit/misfit.js';

const { base, cases } = JSON.parse(readFileSync(new URL('../vectors/misfit.json', import.meta.url), 'utf8'));

test('a misfit costs what it costs on the server', () => {
  for (const { name, with: change, expect } of cases) {
    const { bars, prices, money, access } = { ...base, ...change };
    assert.deepEqual(misfitCost(bars, prices, money, access), expect, name);
  }
});
