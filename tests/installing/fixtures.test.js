// What a crew's phone reads of a group, and the id it gives to a label.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isPosition, positionsOf } from '../../pwa/rules/survey.js';
import { fixtureOf, nextOpen, readGroup } from '../../pwa/views/crew/fixture_facts.js';
import { labelId } from '../../pwa/views/scanning/label_id.js';
import { outcomes, roomsOf } from '../../pwa/views/crew/jobs.js';

const group = { id: 'g', parent: 'r', facets: { identity: { kind: 'k' }, count: { count: 4, gone: [2] } } };

/** @param {string} id @param {number} position @param {string} outcome @param {string} noted_at @param {number} [order] */
const installation = (id, position, outcome, noted_at, order = 0) => ({
  id,
  order: { identity: order },
  at: { identity: noted_at },
  facets: { identity: { position, outcome, noted_at } },
});

/** @param {Record<string, any[]>} children @param {any[]} [labels] */
const siteWith = (children, labels = []) => ({
  get: async (/** @type {string} */ id) =>
    ({
      g: group,
      k: { id: 'k', facets: {} },
      r: { id: 'r', parent: 'f', facets: {} },
      f: { id: 'f', facets: {} },
    })[id],
  children: async (/** @type {string} */ _parent, /** @type {string} */ type) => children[type] ?? [],
  all: async () => [],
  referring: async () => labels,
});

test('positions skip those that are gone, and none is used again', () => {
  assert.deepEqual(positionsOf(group), [1, 3, 4, 5]);
  assert.deepEqual(positionsOf({ facets: {} }), []);
  assert.deepEqual(positionsOf({ facets: { count: { count: 2, gone: [9] } } }), [1, 2]);
  for (let position = 0; position < 9; position += 1) {
    assert.equal(isPosition(group, position), positionsOf(group).includes(position));
    assert.equal(isPosition({ facets: { count: { count: 2, gone: [9] } } }, position), [1, 2].includes(position));
  }
});

test('of several conversions the one of the newest release counts', async () => {
  const conversion = [2, 10, 9].map((number) => ({ id: `c${number}`, facets: { identity: { number } } }));
  const read = await readGroup(siteWith({ conversion }), 'g');
  assert.equal(read.conversion.id, 'c10');
  assert.equal((await readGroup(siteWith({}), 'g')).conversion, undefined);
});

test('what the server took last stands first whatever the phones\' clocks say, and only what is done is passed over', async () => {
  const noted = [
    installation('b', 1, 'done', '2026-04-01T09:00:00Z', 12),
    installation('a', 1, 'problem', '2031-01-01T08:00:00Z', 11),
    installation('c', 3, 'skipped', '2026-04-01T09:30:00Z', 13),
  ];
  assert.equal(outcomes(noted).get(1), 'done');
  const read = await readGroup(siteWith({ installation: noted }), 'g');
  assert.equal(fixtureOf(read, 1).newest.id, 'b');
  assert.equal(nextOpen(read, 1), 3);
  assert.equal(nextOpen(read, 5), 3);
});

test('the last fixture that is done leaves nothing to go on to', async () => {
  const noted = [1, 3, 4].map((position) =>
    installation(`${position}`, position, 'done', '2026-04-01T08:00:00Z'),
  );
  const read = await readGroup(siteWith({ installation: noted }), 'g');
  assert.equal(nextOpen(read, 5), null);
});

test('a label that is voided, or on another fixture, is not on this one', async () => {
  const bound = (/** @type {string} */ id, /** @type {any} */ binding, voided = {}) => ({
    id,
    facets: { binding, voided },
  });
  const labels = [
    bound('here', { group: 'g', position: 3 }),
    bound('beside', { group: 'g', position: 4 }),
    bound('off', { group: 'g', position: 3 }, { reason: 'fell off' }),
  ];
  const read = await readGroup(siteWith({}, labels), 'g');
  assert.deepEqual(
    fixtureOf(read, 3).labels.map(({ id }) => id),
    ['here'],
  );
});

test('a removed group is not shown as if it were there', async () => {
  const site = { ...siteWith({}), get: async () => ({ ...group, removed: true }) };
  assert.equal(await readGroup(site, 'g'), null);
});

test('a label gets the id that the server gives it', async () => {
  // Python: uuid.uuid5(uuid.NAMESPACE_URL, 'spanwalk:label:0000016JD')
  assert.equal(await labelId('0000016JD'), '053975e9-47a5-54a9-975e-e82bf1a83769');
});

test('rooms lead to the first fixture to convert, and never to one that is stopped or withdrawn', () => {
  const rooms = ['r1', 'r2'].map((id) => ({ id }));
  /** @param {number} room @param {string} id @param {number | null} next @param {string} standing */
  const job = (room, id, next, standing) => ({
    room: rooms[room], group: { id }, fixtures: 3, done: next === null ? 3 : 1, next, stands: { standing },
  });
  const told = roomsOf([
    job(0, 'stopped', 1, 'stop'),
    job(0, 'finished', null, 'in force'),
    job(0, 'second', 2, 'in force'),
    job(0, 'third', 1, 'look'),
    job(1, 'away', 1, 'withdrawn'),
  ]);
  assert.deepEqual(told, [{ room: rooms[0], fixtures: 9, left: 4, path: '/fixture/second/2' }]);
});
