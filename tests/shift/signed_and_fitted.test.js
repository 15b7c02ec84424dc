// What a foreman signs and what is later than it; and what something else in the fixture does to light and order.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { minutesOpen } from '../../pwa/views/desk/crews/time_open.js';
import { effectOf, lumensOf, orderChange, sparesOrdered } from '../../pwa/views/desk/crews/fitted_effects.js';
import { Survey } from '../../pwa/rules/survey.js';
import { contentOf, countsOf, fixtureLines, signOffOf, standingOfSignOff, untestedOf } from '../../pwa/views/today/signed.js';
import { record, roomWithWork } from './the_day.js';

/** @param {number} position @param {string} outcome @param {number} order @param {any} [facets] */
const noted = (position, outcome, order, facets = {}) =>
  record(`i${order}`, 'installation', 'G01-group', { identity: { position, outcome }, ...facets }, order);

/** @param {any[]} installations */
function jobWith(installations) {
  const job = roomWithWork('G01', 4);
  job.told = new Map(installations.map((each) => [each.facets.identity.position, { record: each, outcome: each.facets.identity.outcome, state: '' }]));
  return [job];
}

const OTHERWISE = { as_fitted: { as_released: false, items: [{ kind: 'bar', code: 'B-3', number: 2 }] } };

test('what is signed counts what is done, open, a problem, skipped and fitted otherwise', () => {
  const lines = fixtureLines(jobWith([noted(1, 'done', 1), noted(2, 'done', 2, OTHERWISE), noted(3, 'problem', 3)]));
  assert.deepEqual(countsOf(lines), { fixtures: 4, done: 2, problems: 1, skipped: 0, open: 1, differs: 1 });
});

test('what was taken back is open again', () => {
  const lines = fixtureLines(jobWith([noted(1, 'not-done-after-all', 5)]));
  assert.equal(countsOf(lines).open, 4);
});

/** The card of the room has its emergency pack in fixture 2. @param {any[]} tests what was noted of tests, in this order @param {any[]} installations */
function untested(tests, installations) {
  const job = jobWith(installations);
  const records = tests.map((test, at) => record(`t${at}`, 'emergency_test', 'G01-group', { identity: { position: 2, wanted_min: 90, ...test } }, 20 + at));
  const survey = new Survey(/** @type {any} */ ([job[0].group, ...records]));
  return untestedOf(survey, fixtureLines(job)).map(({ line, state }) => [line.position, state]);
}

test('an emergency light that is done without a passed test is named to who signs, with what its newest test says', () => {
  const done = [noted(1, 'done', 1), noted(2, 'done', 2)];
  const passed = { result: 'passed', minutes: 92 };
  assert.deepEqual(untested([], done), [[2, 'no test yet']]);
  assert.deepEqual(untested([{ result: 'still-due' }], done), [[2, 'still-due']]);
  assert.deepEqual(untested([{ result: 'passed', minutes: 89 }], done), [[2, 'too short']]);
  assert.deepEqual(untested([{ result: 'passed', minutes: 89, wanted_min: undefined }], done), [[2, 'too short']]);
  assert.deepEqual(untested([passed, { result: 'failed', minutes: 3 }], done), [[2, 'failed']]);
  assert.deepEqual(untested([{ ...passed, position: 1 }], done), [[2, 'no test yet']]);
  assert.deepEqual(untested([{ result: 'failed', minutes: 3 }, passed], done), []);
  assert.deepEqual(untested([], [noted(1, 'done', 1), noted(2, 'problem', 2)]), []);
});

/** @param {any[]} installations @param {number} order */
const signed = async (installations, order) =>
  record(`s${order}`, 'sign_off', 's', { identity: { subject: 'G01', name: 'Ada', content: await contentOf(fixtureLines(jobWith(installations))) } }, order);

test('a sign-off holds while each fixture stands as it was shown', async () => {
  const before = [noted(1, 'done', 1)];
  const told = await standingOfSignOff(/** @type {any} */ (await signed(before, 10)), fixtureLines(jobWith(before)));
  assert.deepEqual(told, { holds: true, later: [] });
});

test('what is noted after it was signed shows as later', async () => {
  const before = [noted(1, 'done', 1)];
  const after = [...before, noted(2, 'problem', 11)];
  const told = await standingOfSignOff(/** @type {any} */ (await signed(before, 10)), fixtureLines(jobWith(after)));
  assert.equal(told.holds, false);
  assert.deepEqual(told.later.map(({ position }) => position), [2]);
});

test('what was fitted is part of what was signed: another item there breaks it', async () => {
  const before = [noted(1, 'done', 1, OTHERWISE)];
  const after = [noted(1, 'done', 1, { as_fitted: { as_released: false, items: [{ kind: 'bar', code: 'B-2', number: 2 }] } })];
  const told = await standingOfSignOff(/** @type {any} */ (await signed(before, 10)), fixtureLines(jobWith(after)));
  assert.equal(told.holds, false);
});

test('the newest sign-off of a room counts', async () => {
  const both = [await signed([], 12), await signed([], 10)];
  assert.equal(signOffOf(/** @type {any} */ (both), 'G01')?.id, 's12');
  assert.equal(signOffOf(/** @type {any} */ (both), 'G02'), undefined);
});

/** @param {string} code @param {string} facet @param {any} value */
const item = (code, facet, value) => record(code, 'catalogue_item', 's', { identity: { code, item: facet }, [facet]: value });
const CATALOGUE = /** @type {any} */ (
  new Map(
    [
      item('B-4', 'bar', { lumens_per_w: 150, forward_v: 24 }),
      item('B-3', 'bar', { lumens_per_w: 150, forward_v: 18 }),
      item('D-40', 'driver', { outputs: 1, bars_joined: 'in-parallel', current: 'shared-by-the-bars' }),
      item('D-20', 'driver', { outputs: 2, bars_joined: 'not-said', current: 'for-each-output' }),
    ].map((each) => [each.id, each]),
  )
);
/** @param {string} code @param {number} number */
const bars = (code, number) => ({ kind: 'bar', code, number });
/** @param {string} code @param {number} setting_ma @param {number} [number] */
const driver = (code, setting_ma, number = 1) => ({ kind: 'driver', code, number, setting_ma });

test('lumens follow volts and current: in parallel on one current the bars divide it', () => {
  // By hand: 700 mA over two bars is 350 mA each; 2 × 24 V × 0.35 A × 150 lm/W = 2,520 lm.
  assert.equal(lumensOf([bars('B-4', 2), driver('D-40', 700)], CATALOGUE), 2520);
  // Each output has a current of its own: 2 × 24 V × 0.7 A × 150 lm/W = 5,040 lm.
  assert.equal(lumensOf([bars('B-4', 2), driver('D-20', 700)], CATALOGUE), 5040);
});

test('no lumens are told where an item is not in the catalogue, the setting is missing or nothing drives the bars', () => {
  assert.equal(lumensOf([bars('B-9', 2), driver('D-40', 700)], CATALOGUE), null);
  assert.equal(lumensOf([bars('B-4', 2)], CATALOGUE), null);
  assert.equal(lumensOf([bars('B-4', 2), { kind: 'driver', code: 'D-40', number: 1 }], CATALOGUE), null);
});

/** @param {any[]} items */
const effect = (items) => {
  const { group, conversion } = roomWithWork('G01', 4);
  return effectOf(/** @type {any} */ (noted(1, 'done', 1, { as_fitted: { as_released: false, items } })), /** @type {any} */ (conversion), /** @type {any} */ (group), CATALOGUE);
};

test('a lower setting gives so much less light, and orders nothing', () => {
  const told = effect([bars('B-4', 2), driver('D-40', 350)]);
  assert.equal(told.lightPct, 50);
  assert.deepEqual(orderChange([told]), []);
});

test('shorter bars instead of those released change light and order', () => {
  const told = effect([bars('B-3', 2), driver('D-40', 700)]);
  assert.equal(told.lightPct, 75);
  assert.deepEqual(orderChange([told, told]), [{ code: 'B-3', more: 4 }, { code: 'B-4', more: -4 }]);
});

test('spares are those that the newest release counted, misfits in them', () => {
  /** @param {string} release @param {number} spare */
  const sums = (release, spare) => record(`${release}-sums`, 'release_sums', release, { identity: { figures: { order: [{ code: 'B-4', spare, for_misfits: 1 }] } } });
  const releases = new Map(['r1', 'r2'].map((id, at) => [id, record(id, 'release', 's', { identity: { number: at + 1 } })]));
  assert.equal(sparesOrdered(/** @type {any} */ ([sums('r2', 5), sums('r1', 2)]), /** @type {any} */ (releases)).get('B-4'), 6);
});

test('time open is whole minutes, and never less than none', () => {
  assert.equal(minutesOpen('2026-03-10T09:00:00Z', '2026-03-10T10:30:59Z'), 90);
  assert.equal(minutesOpen('2026-03-10T09:00:00Z', '2026-03-10T08:00:00Z'), 0);
  assert.equal(minutesOpen('', '2026-03-10T08:00:00Z'), 0);
});
