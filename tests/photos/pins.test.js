// Pins on the plans of a floor: which still say where something is, and what comes next.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { asTaken, countByPurpose, purposesToChoose } from '../../pwa/views/photos/purposes.js';
import { nextWithoutPlace, pinOf, whereOf } from '../../pwa/views/plans_of_floors/pins.js';

const GROUND = 'ground';
const PLANS = {
  plan: { id: 'plan', facets: { identity: { subject: GROUND, purpose: 'floor-plan' } } },
  above: { id: 'above', facets: { identity: { subject: 'level-1', purpose: 'floor-plan' } } },
  old: { id: 'old', removed: true, facets: { identity: { subject: GROUND, purpose: 'floor-plan' } } },
  photo: { id: 'photo', facets: { identity: { subject: GROUND, purpose: 'damage' } } },
};
const planBy = (id) => PLANS[id];
const room = (pin) => ({ facets: { pin } });

test('a pin on a plan of its floor says where it is', () => {
  assert.equal(whereOf(room({ plan: 'plan', x: 1, y: 2 }), GROUND, planBy), 'placed');
});

test('what was never pinned, and a pin that was taken away, are the same', () => {
  assert.deepEqual([pinOf(room(undefined)), pinOf(room({}))], [null, null]);
  assert.equal(whereOf(room({}), GROUND, planBy), 'none');
});

test('a pin at the very corner is a pin', () => {
  assert.deepEqual(pinOf(room({ plan: 'plan', x: 0, y: 0 })), { plan: 'plan', x: 0, y: 0 });
});

test('a pin on a plan that was removed, never came or is no plan any more is told', () => {
  for (const plan of ['old', 'never-came', 'photo'])
    assert.equal(whereOf(room({ plan, x: 1, y: 2 }), GROUND, planBy), 'plan-gone', plan);
});

test('a room that moved to another floor is told of its pin', () => {
  assert.equal(whereOf(room({ plan: 'above', x: 1, y: 2 }), GROUND, planBy), 'other-floor');
});

test('the next is the next without a place, round to the beginning, and nothing when all have one', () => {
  const list = [
    { id: 'a', where: 'none' },
    { id: 'b', where: 'placed' },
    { id: 'c', where: 'plan-gone' },
  ];
  assert.deepEqual([nextWithoutPlace(list, 'a'), nextWithoutPlace(list, 'c'), nextWithoutPlace(list, 'b')], ['c', 'a', 'c']);
  assert.equal(nextWithoutPlace([list[1]], 'b'), null);
});

test('photos stand in the order in which they were taken, old ones without a time first', () => {
  const photos = ['2026-03-02', '2026-03-01', undefined].map((taken_at, place) => ({ id: `p${place}`, facets: { identity: { taken_at } } }));
  assert.deepEqual(asTaken(photos).map(({ id }) => id), ['p2', 'p1', 'p0']);
});

test('photos are counted by purpose; one without a purpose is some other', () => {
  const photos = ['room', 'room', undefined].map((purpose) => ({ facets: { identity: { purpose } } }));
  assert.deepEqual(countByPurpose(photos), { room: 2, other: 1 });
});

test('a photo cannot be said to be a floor plan, but a plan stays one', () => {
  assert.deepEqual(purposesToChoose(['room', 'floor-plan'], 'room'), ['room']);
  assert.deepEqual(purposesToChoose(['room', 'floor-plan'], 'floor-plan'), ['room', 'floor-plan']);
});
