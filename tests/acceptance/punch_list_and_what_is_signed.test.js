// What is open at a hand-over and what a customer signs: the vectors that the server reads too.

import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { since, statement, textOf } from '../../pwa/rules/installing/acceptance.js';
import { punchList } from '../../pwa/rules/installing/punch_list.js';
import { Survey } from '../../pwa/rules/survey.js';

const VECTORS = JSON.parse(readFileSync(new URL('../vectors/acceptance.json', import.meta.url), 'utf8'));

for (const { name, records, expect } of VECTORS.points)
  test(`punch list: ${name}`, () => assert.deepEqual(punchList(new Survey(records)), expect));

for (const { name, records, subject, expect, content } of VECTORS.statements)
  test(`what is signed: ${name}`, () => {
    const told = statement(new Survey(records), subject);
    assert.deepEqual(told, expect);
    assert.equal(createHash('sha256').update(textOf(told.lines), 'utf8').digest('hex'), content);
  });

test('what was signed stands, and what changed stands beside it', () => {
  const [{ records, subject, expect }] = VECTORS.statements;
  const signed = /** @type {any} */ ({ facets: { identity: { shown: expect.lines } } });
  assert.deepEqual(since(signed, statement(new Survey(records), subject)), { was: [], now: [] });
  const later = { ...records.at(-1), id: 'i4', type: 'installation', parent: 'g1', facets: { identity: { position: 4, outcome: 'skipped', conversion: 'c-g1' } } };
  const changed = since(signed, statement(new Survey([...records, later]), subject));
  assert.equal(changed.was[0], 'fixtures\tg1\tK1\t4\tnot-noted\t');
  assert.equal(changed.now[0], 'fixtures\tg1\tK1\t4\tskipped\t');
});
