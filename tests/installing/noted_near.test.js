// What a crew found at one fixture stands at the others for which it may hold.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { notedNear } from '../../pwa/views/crew/noted_near.js';

let seq = 0;
/** @param {number} position @param {string} outcome @param {string} [reason] @param {string} [by] */
const noted = (position, outcome, reason, by = 'ann') =>
  /** @type {any} */ ({ parent: 'a', by: { identity: by }, facets: { identity: { position, outcome, reason } }, order: { identity: ++seq } });
/** @param {string} id @param {any[]} installations */
const group = (id, ...installations) =>
  /** @type {any} */ ({ group: { id }, kind: { facets: { identity: { mark: id.toUpperCase() } } }, installations });
/** @param {any[]} groups @param {{group: string, position: number} | null} here */
const told = (groups, here) => notedNear(groups, here).map(({ mark, position, reason }) => `${mark} ${position} ${reason}`);

test('a suspect ceiling stands at every fixture of the room, a leaking ballast at those of its group', () => {
  const room = [group('a', noted(1, 'problem', 'suspect-ceiling'), noted(2, 'problem', 'ballast-leaks')), group('b')];
  assert.deepEqual(told(room, { group: 'a', position: 3 }), ['A 1 suspect-ceiling', 'A 2 ballast-leaks']);
  assert.deepEqual(told(room, { group: 'b', position: 1 }), ['A 1 suspect-ceiling']);
  assert.deepEqual(told(room, null), ['A 1 suspect-ceiling', 'A 2 ballast-leaks']);
});

test('a fixture is not told of itself, nor of what holds for one fixture alone or was said to be over', () => {
  const room = [group('a', noted(1, 'problem', 'still-live'), noted(2, 'problem', 'no-access'), noted(3, 'problem', 'still-live'), noted(3, 'done'))];
  assert.deepEqual(told(room, { group: 'a', position: 1 }), []);
  assert.deepEqual(told(room, { group: 'a', position: 2 }), ['A 1 still-live']);
});

test('a problem that somebody else passed over is told at its own fixture too', () => {
  const room = [group('a', noted(1, 'problem', 'still-live', 'bea'), noted(1, 'done'))];
  assert.deepEqual(told(room, { group: 'a', position: 1 }), ['A 1 still-live']);
  assert.deepEqual(told(room, { group: 'a', position: 2 }), ['A 1 still-live']);
});
