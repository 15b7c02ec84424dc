// What is in a fixture once parts were replaced comes out on the phone as on the server: see the vectors.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';

import { itemsNow } from '../../pwa/rules/installing/replaced.js';
import { recalledIn } from '../../pwa/views/crew/recalled_here.js';

const { catalogue, cases } = JSON.parse(
  readFileSync(new URL('../vectors/replaced.json', import.meta.url), 'utf8'),
);
const failureOf = (facets, at) => ({ id: `f${at}`, type: 'failure', facets: { ...facets, identity: { ...facets.identity, position: 1 } } });
const itemOf = ({ code, item, replaced_by }, recall) => ({
  id: code,
  type: 'catalogue_item',
  facets: { identity: { code, item }, ...(replaced_by && { retired: { replaced_by } }), ...(recall && { recall }) },
});
const known = new Map(catalogue.map((each) => [each.code, itemOf(each)]));

for (const { name, fitted, failures, expect } of cases)
  test(`${name}: the items that are in it now`, () => {
    assert.deepEqual(itemsNow(fitted, failures.map(failureOf), known), expect);
  });

const installation = {
  id: 'i1',
  type: 'installation',
  facets: { identity: { position: 1, outcome: 'done' }, as_fitted: { items: [{ kind: 'driver', code: 'D40', number: 1 }] } },
  seqs: { identity: 1 },
};
const group = { id: 'g', type: 'group', facets: { count: { count: 1 } } };
const recalledWith = async (failures) => {
  const items = catalogue.map((each) => itemOf(each, each.code === 'D40' ? { reason: 'Its case gets hot.' } : null));
  const site = { all: async () => items, children: async () => failures, get: async () => undefined };
  return (await recalledIn(site, { group, installations: [installation] }, 1)).map(({ id }) => id);
};

test('a recalled driver is told where it is still in', async () => {
  assert.deepEqual(await recalledWith([]), ['D40']);
});

test('one that was taken out since is told no more', async () => {
  const out = failureOf({ identity: { item: 'D40' }, replaced: { how: 'bought', item: 'D41', on: '2027-02-03' } }, 1);
  assert.deepEqual(await recalledWith([out]), []);
});
