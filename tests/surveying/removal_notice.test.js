// What whoever removes a group or room is told before, by the records on the phone.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { workIn } from '../../pwa/views/surveying/removal_notice.js';

/** @param {string} type @param {any} facets */
const record = (type, facets, id = `${type} ${JSON.stringify(facets)}`) => ({
  id,
  type,
  parent: 'g',
  removed: false,
  facets,
  conflicts: [],
});

/** @param {any[]} below @param {any[]} labels @returns {any} */
const siteWith = (below, labels) => ({
  children: async (/** @type {string} */ _, /** @type {string} */ type) => below.filter((each) => each.type === type),
  referring: async () => labels,
});

const GROUP = /** @type {any} */ ({ ...record('group', { count: { count: 3 } }, 'g'), parent: 'r' });
const note = (/** @type {number} */ position, /** @type {string} */ outcome) =>
  record('installation', { identity: { position, outcome, noted_at: `2026-05-0${position}` } });

test('fixtures that are done and labels that hold are counted over all groups', async () => {
  const labels = [record('label', { binding: {} }), record('label', { binding: {}, voided: { reason: 'Torn' } })];
  const site = siteWith([note(1, 'done'), note(2, 'problem'), record('conversion', { identity: { number: 1 } })], labels);
  assert.deepEqual(await workIn(site, [GROUP]), { done: 1, labels: 1, released: 1 });
  assert.deepEqual(await workIn(site, [GROUP, GROUP]), { done: 2, labels: 2, released: 2 });
});

test('a fixture that is done and counted down since is still one that is done', async () => {
  assert.equal((await workIn(siteWith([note(5, 'done')], []), [GROUP])).done, 1);
});

test('of a group in which nobody worked nothing is told', async () => {
  assert.deepEqual(await workIn(siteWith([], []), [GROUP]), { done: 0, labels: 0, released: 0 });
});
