// What is checked off at a fixture and counts, and what was fitted in it: the vectors that the server reads too.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { differences, fittedItems, releasedItems, sparesUsed } from '../../pwa/rules/installing/as_fitted.js';
import { lastWord } from '../../pwa/rules/installing/last_word.js';
import { mayGoOn, missingChecks, checkedOffAt } from '../../pwa/rules/installing/checked_off.js';

/** @param {string} name */
const json = (name) => JSON.parse(readFileSync(new URL(`../vectors/${name}.json`, import.meta.url), 'utf8'));
const [checkedOff, fitted] = [json('checked_off'), json('as_fitted')];

for (const each of checkedOff.cases)
  test(`checked off: ${each.name}`, () =>
    assert.deepEqual(checkedOffAt(each.visits, each.installations, checkedOff.steps, each.now), each.expect));

for (const each of checkedOff.may_go_on)
  test(`visits: ${each.name}`, () =>
    assert.equal(mayGoOn(each.visit, each.installations, each.phone, each.now), each.expect));

for (const each of checkedOff.missing)
  test(`missing: ${each.name}`, () =>
    assert.deepEqual(missingChecks(each.frozen, each.position, each.ticked), each.expect));

for (const each of fitted.released)
  test(`released: ${each.name}`, () =>
    assert.deepEqual(releasedItems(each.card, each.position, each.fixtures), each.expect));

for (const each of fitted.differences)
  test(`otherwise: ${each.name}`, () =>
    assert.deepEqual(differences(each.released, each.fitted), each.expect));

for (const each of fitted.fitted)
  test(`said: ${each.name}`, () =>
    assert.deepEqual(fittedItems(each.installation, fitted.wanted), each.expect));

for (const each of fitted.spares)
  test(`spares: ${each.name}`, () => assert.deepEqual(sparesUsed(each.installations), each.expect));

test('what this phone has not sent yet is the last word, whatever the clocks say', () => {
  /** @param {string} outcome @param {Record<string, number>} order @param {string} noted_at */
  const noted = (outcome, order, noted_at) =>
    /** @type {any} */ ({ order, facets: { identity: { position: 3, outcome, noted_at } } });
  const said = [
    noted('not-done-after-all', { identity: 1e12 + 4 }, '2020-01-01'),
    noted('done', { identity: 9 }, '2031-01-01'),
  ];
  assert.equal(lastWord(said, 3)?.facets.identity?.outcome, 'not-done-after-all');
});
