// What of a group's conversion a crew sees at one fixture, and what an emergency test must say before it is saved.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { withFieldTypes } from '../../pwa/store/tables.js';
import { wantedChecks } from '../../pwa/rules/installing/checked_off.js';
import { accessoriesAt, cautionsAt, emergencyAt, stepsAt } from '../../pwa/views/crew/at_position.js';
import { testState } from '../../pwa/rules/installing/punch_list.js';
import { testToSave, wrongInTest } from '../../pwa/views/crew/emergency_test.js';

const step = (/** @type {string} */ name, /** @type {any} */ more = {}) => ({ code: `plan.step.${name}`, facts: {}, ...more });
const names = (/** @type {any} */ card, /** @type {number} */ position) => stepsAt(card, position).map(({ code }) => code.slice('plan.step.'.length));

const card = {
  steps: [
    step('isolate', { cautions: ['plan.caution.isolate', 'plan.caution.emergency'] }),
    step('old-pack-out', { positions: [1, 5] }),
    step('restore'),
    step('test-pack', { positions: [1, 5] }),
  ],
  cautions: ['plan.caution.isolate', 'plan.caution.emergency'],
  cautions_at: { 'plan.caution.emergency': [1, 5] },
  checks: ['earth-checked'],
  checks_at: [{ check: 'pack-charges', positions: [1, 5] }],
  accessories: [
    { name: 'PACK', purpose: 'emergency-pack', positions: [1, 5] },
    { name: 'CLIP', purpose: 'screw-clips' },
  ],
  emergency: { duty: 'battery-in-fixture', positions: [1, 5] },
};

test('a fixture with a pack has its steps, cautions, ticks and pack; the one beside it knows nothing of packs', () => {
  assert.deepEqual(names(card, 5), ['isolate', 'old-pack-out', 'restore', 'test-pack']);
  assert.deepEqual(names(card, 2), ['isolate', 'restore']);
  assert.deepEqual([cautionsAt(card, 5).length, cautionsAt(card, 2)], [2, ['plan.caution.isolate']]);
  assert.deepEqual(stepsAt(card, 2)[0].cautions, ['plan.caution.isolate']);
  assert.deepEqual(stepsAt(card, 1)[0].cautions, ['plan.caution.isolate', 'plan.caution.emergency']);
  assert.deepEqual([wantedChecks(card, 1), wantedChecks(card, 2)], [['earth-checked', 'pack-charges'], ['earth-checked']]);
  assert.deepEqual(accessoriesAt(card, 2).map(({ name }) => name), ['CLIP']);
  assert.deepEqual(accessoriesAt(card, 1).map(({ name }) => name), ['PACK', 'CLIP']);
  assert.equal(emergencyAt(card, 2), null);
  assert.equal(emergencyAt(card, 1)?.duty, 'battery-in-fixture');
});

/** As a release froze it before steps had positions: packs for all, the test before the feed is back. */
const old = {
  steps: [
    step('isolate'),
    step('fit-accessory', { facts: { name: 'PACK', purpose: 'emergency-pack' } }),
    step('fit-accessory', { facts: { name: 'CLIP', purpose: 'screw-clips' } }),
    step('test-emergency'),
    step('label'),
    step('restore'),
  ],
  cautions: ['plan.caution.isolate', 'plan.caution.battery-stays-live'],
  checks: ['earth-checked'],
  accessories: [{ name: 'PACK', purpose: 'emergency-pack' }],
  emergency: { duty: 'battery-in-fixture', positions: [1, 5] },
};

test('a card frozen before steps had positions is shown by those of its emergency fixtures, the test last', () => {
  assert.deepEqual(names(old, 1), ['isolate', 'fit-accessory', 'fit-accessory', 'label', 'restore', 'test-emergency']);
  assert.deepEqual(names(old, 2), ['isolate', 'fit-accessory', 'label', 'restore']);
  assert.deepEqual([cautionsAt(old, 1).length, cautionsAt(old, 2)], [2, ['plan.caution.isolate']]);
  assert.deepEqual([wantedChecks(old, 1), accessoriesAt(old, 2)], [['earth-checked'], []]);
});

test('an old card that names no emergency fixtures shows all of it everywhere: nothing is hidden that may be needed', () => {
  const unnamed = { ...old, emergency: { duty: 'battery-in-fixture', positions: [] } };
  assert.deepEqual(names(unnamed, 2), names(old, 1));
  assert.equal(cautionsAt(unnamed, 2).length, 2);
  assert.equal(accessoriesAt(unnamed, 2).length, 1);
});

test('a card without anything is empty', () => {
  assert.deepEqual([stepsAt({}, 1), cautionsAt({}, 1), accessoriesAt({}, 1), emergencyAt({}, 1)], [[], [], [], null]);
});

const spec = withFieldTypes(JSON.parse(readFileSync(new URL('../../server/spanwalk/spec/records.json', import.meta.url), 'utf8')));
const { fields } = spec.records.emergency_test.facets.identity;

test('a test that was made says how long the light lasted, one that is due says when', () => {
  assert.deepEqual(Object.keys(wrongInTest(fields, {})), ['indicator', 'result']);
  assert.deepEqual(Object.keys(wrongInTest(fields, { indicator: 'seen', result: 'passed' })), ['minutes']);
  assert.deepEqual(Object.keys(wrongInTest(fields, { indicator: 'seen', result: 'failed' })), ['minutes']);
  assert.deepEqual(Object.keys(wrongInTest(fields, { indicator: 'seen', result: 'still-due' })), ['due_on']);
  assert.deepEqual(wrongInTest(fields, { indicator: 'seen', result: 'failed', minutes: 0 }), {});
  assert.deepEqual(Object.keys(wrongInTest(fields, { indicator: 'seen', result: 'passed', minutes: 1441 })), ['minutes']);
});

test('what was typed for another result is not saved', () => {
  const typed = { indicator: 'seen', result: 'still-due', minutes: 12, due_on: '2026-12-01', note: undefined };
  assert.deepEqual(testToSave(typed), { indicator: 'seen', result: 'still-due', due_on: '2026-12-01' });
});

test('a test that passed for a minute less than was wanted is too short', () => {
  const state = (/** @type {any} */ identity, /** @type {number} */ byCard) =>
    testState(/** @type {any} */ ({ facets: { identity } }), byCard);
  const lasting = (/** @type {number} */ minutes) => state({ result: 'passed', minutes, wanted_min: 90 }, 30);
  assert.deepEqual([89, 90, 91].map(lasting), ['too short', 'passed', 'passed']);
  assert.equal(state({ result: 'passed', minutes: 5 }, 90), 'too short');
  assert.equal(testState(/** @type {any} */ ({ facets: { identity: { result: 'passed', minutes: 5 } } }), undefined), 'passed');
  assert.equal(state({ result: 'failed', minutes: 5, wanted_min: 90 }, 90), 'failed');
});
