// What a site still lacks, step by step, from its own records.

import assert from 'node:assert/strict';
import test from 'node:test';
import { isSetUp, MONEY_NEEDED, stepsOf } from '../../pwa/views/first_run/steps.js';

const bar = { id: 'b', type: 'catalogue_item', facets: { identity: { offered: true }, bar: {} } };
const driver = { id: 'd', type: 'catalogue_item', facets: { identity: {}, driver: {} } };
const priceOf = (parent) => ({ id: `p${parent}`, type: 'price', parent, facets: { identity: { each: 9 } } });
const money = {
  facets: {
    identity: { currency: 'USD', tariff_per_kwh: 0.14, labour_per_h: 68, discount_pct: 0, study_years: 10 },
  },
};
const whole = {
  floors: 1,
  rooms: 1,
  items: [bar, driver],
  prices: [priceOf('b'), priceOf('d')],
  money,
  own: { facets: { settings: { coldest_c: 0, hottest_c: 30 } } },
  people: 2,
  titles: { discount_pct: 'Discount rate', hottest_c: 'Hottest ambient' },
};
const missing = (id, changed) => stepsOf({ ...whole, ...changed }).find((step) => step.id === id).missing;

test('a site with catalogue, rooms, money, temperatures and two people lacks nothing', () => {
  assert.deepEqual(
    stepsOf(whole).map((step) => step.missing),
    [null, null, null, null, null],
  );
  assert.equal(isSetUp(stepsOf(whole)), true);
});

test('a new site lacks everything, catalogue first', () => {
  const steps = stepsOf({
    ...whole,
    floors: 0,
    rooms: 0,
    items: [],
    prices: [],
    money: undefined,
    own: undefined,
    people: 1,
  });
  assert.deepEqual(
    steps.map(({ id, missing: lacking }) => [id, lacking?.code]),
    [
      ['catalogue', 'set-up.catalogue-none'],
      ['rooms', 'set-up.floors-none'],
      ['money', 'set-up.lacks'],
      ['settings', 'set-up.lacks'],
      ['people', 'set-up.people-none'],
    ],
  );
  assert.equal(isSetUp(steps), false);
});

test('a catalogue of bars alone lacks drivers, of drivers alone bars', () => {
  assert.equal(missing('catalogue', { items: [bar] }).code, 'set-up.catalogue-no-driver');
  assert.equal(missing('catalogue', { items: [driver] }).code, 'set-up.catalogue-no-bar');
});

test('an item that is no longer offered is none', () => {
  const retired = { ...bar, facets: { ...bar.facets, identity: { offered: false } } };
  assert.equal(missing('catalogue', { items: [retired] }).code, 'set-up.catalogue-none');
});

test('items without a price are counted', () => {
  assert.deepEqual(missing('catalogue', { prices: [priceOf('b')] }), {
    code: 'set-up.catalogue-prices',
    facts: { lacking: 1, of: 2 },
  });
});

test('what is missing of the money is named; nought is a value', () => {
  const { discount_pct: _, ...lacking } = money.facets.identity;
  assert.deepEqual(missing('money', { money: { facets: { identity: lacking } } }).facts, {
    names: ['Discount rate'],
  });
  assert.equal(missing('money', {}), null);
});

test('a floor without rooms lacks rooms, and leads to the walk', () => {
  const rooms = stepsOf({ ...whole, rooms: 0 }).find((step) => step.id === 'rooms');
  assert.deepEqual([rooms.missing.code, rooms.path], ['set-up.rooms-none', '']);
});

test('a firm of one person can be set up', () => {
  assert.equal(isSetUp(stepsOf({ ...whole, people: 1 })), true);
});

test('what the server cannot reckon without is asked for, and the currency', () => {
  assert.deepEqual([...MONEY_NEEDED].sort(), [
    'currency',
    'discount_pct',
    'labour_per_h',
    'study_years',
    'tariff_per_kwh',
  ]);
});
