// What a phone makes of a label's code: the fixture, or what is the matter with it, by the records it has.

import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { test } from 'node:test';
import { store } from '../../pwa/store/store.js';
import { labelState, onAnotherSite } from '../../pwa/views/scanning/find_label.js';

const folder = new URL('../../server/spanwalk/spec/words.en/', import.meta.url);
store.tables.words = Object.assign(
  {},
  ...readdirSync(folder).map((name) => JSON.parse(readFileSync(new URL(name, folder), 'utf8'))),
);

const label = (/** @type {string} */ code, more = {}) => ({
  id: `label-${code}`,
  type: 'label',
  facets: { identity: { code }, ...more },
});
const ON = { binding: { group: 'g', position: 2 } };
const VOID = { voided: { reason: 'Torn' } };
const PLACES = {
  g: { id: 'g', type: 'group', parent: 'r', facets: { identity: { kind: 'k' } } },
  r: { id: 'r', type: 'room', parent: 'f', facets: { identity: { number: 'G02', name: 'Reading room' } } },
  k: { id: 'k', type: 'kind', facets: { identity: { mark: 'K3' } } },
};

/** A site with some labels. @param {string} id @param {any[]} labels @returns {any} */
const siteWith = (id, labels) => ({
  id,
  lookup: async (/** @type {string} */ _, /** @type {string} */ code) =>
    labels.find((each) => each.facets.identity.code === code),
  get: async (/** @type {string} */ record) => /** @type {any} */ (PLACES)[record],
  referring: async (/** @type {string} */ group) =>
    labels.filter((each) => each.facets.binding?.group === group),
});

test('a bound label leads to its fixture, with its code', async () => {
  const site = siteWith('s', [label('0000016JD', ON)]);
  assert.deepEqual(await labelState(site, '0000016JD'), {
    state: 'bound',
    path: '/s/s/fixture/g/2?code=0000016JD',
  });
});

test('a void label says its reason, where it was, and which label is there now', async () => {
  const site = siteWith('s', [label('0000016JD', { ...ON, ...VOID }), label('0000016KE', ON)]);
  assert.deepEqual(await labelState(site, '0000016JD'), {
    state: 'void',
    reason: 'Torn',
    path: '/s/s/fixture/g/2',
    place: 'K3, fixture 2, G02 Reading room',
    others: ['0000016KE'],
  });
});

test('a label on a fixture of a removed group says what it was, and whether it was converted', async () => {
  const noted = (/** @type {number} */ position, /** @type {string} */ outcome) => ({
    id: `i${position}${outcome}`,
    type: 'installation',
    facets: { identity: { position, outcome } },
  });
  const removed = (/** @type {any[]} */ work) => ({
    ...siteWith('s', [label('0000016JD', ON)]),
    get: async (/** @type {string} */ id) => ({ .../** @type {any} */ (PLACES)[id], removed: id === 'g' }),
    children: async () => work,
  });
  const told = {
    state: 'removed',
    path: '/s/s/fixture/g/2/now',
    place: 'K3, fixture 2, G02 Reading room',
    converted: true,
  };
  const work = [noted(1, 'not-done-after-all'), noted(2, 'done'), noted(2, 'problem')];
  assert.deepEqual(await labelState(removed(work), '0000016JD'), told);
  assert.deepEqual(await labelState(removed([]), '0000016JD'), { ...told, converted: false });
});

test('a label whose voiding was taken back holds again', async () => {
  const site = siteWith('s', [label('0000016JD', { ...ON, voided: {} })]);
  assert.equal((await labelState(site, '0000016JD')).state, 'bound');
});

test('a code on no fixture is blank, one without a record unknown', async () => {
  const site = siteWith('s', [label('0000016JD')]);
  assert.deepEqual(await labelState(site, '0000016JD'), { state: 'blank' });
  assert.deepEqual(await labelState(site, '0000016KE'), { state: 'unknown' });
});

test('another site that knows the label is named, one on which it holds before one on which it is void', async () => {
  const sites = [
    siteWith('void', [label('0000016JD', { ...ON, ...VOID })]),
    siteWith('holds', [label('0000016JD', ON)]),
    siteWith('here', [label('0000016JD', ON)]),
  ];
  store.sites = () => /** @type {any} */ (sites.map(({ id }) => ({ id, name: `Site ${id}` })));
  store.openSite = async (id) => sites.find((each) => each.id === id);
  const found = await onAnotherSite('0000016JD', 'here');
  assert.deepEqual([found?.id, found?.name], ['holds', 'Site holds']);
  assert.equal((await onAnotherSite('0000016KE', 'here')) ?? 'none', 'none');
});
