// Ticks on this phone: into whose visit they go, and what is saved of what was fitted.
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { test } from 'node:test';
import { store } from '../../pwa/store/store.js';
import { editOf, fittedProblem, fittedText, fittedValue } from '../../pwa/views/crew/fitted.js';
import { pointsOf } from '../../pwa/views/crew/light_reading.js';
import { OF_STOP, REASONS } from '../../pwa/views/crew/reasons.js';
import { saveCheck } from '../../pwa/views/crew/visits.js';
import { dayOf } from '../../pwa/views/today/days.js';

const folder = new URL('../../server/spanwalk/spec/words.en/', import.meta.url);
store.tables.words = Object.assign(
  {},
  ...readdirSync(folder).map((name) => JSON.parse(readFileSync(new URL(name, folder), 'utf8'))),
);
const spec = JSON.parse(readFileSync(new URL('../../server/spanwalk/spec/records.json', import.meta.url), 'utf8'));
store.current = /** @type {any} */ ({ id: 'ann', sites: [] });

/** A site in memory: what is saved stands in it at once, as this phone's own. @param {any[]} [installations] */
function siteWith(installations = [], phone = 'p1') {
  /** @type {Map<string, any>} */
  const visits = new Map();
  let made = 0;
  return {
    visits,
    saves: /** @type {any[][]} */ ([]),
    newId: () => `v${(made += 1)}`,
    device: async () => phone,
    children: async (/** @type {string} */ _, /** @type {string} */ type) =>
      type === 'visit' ? [...visits.values()] : installations,
    async save(/** @type {any[]} */ drafts) {
      this.saves.push(drafts);
      for (const { record, facet, value, seen } of drafts) {
        const visit = visits.get(record) ?? { id: record, facets: {}, seen: {}, by: {}, order: {} };
        assert.equal(seen, visit.seen[facet] ?? null, 'a save says what it saw');
        visit.facets[facet] = value;
        visit.seen[facet] = `op${(made += 1)}`;
        visit.by[facet] = store.person?.id;
        visit.order[facet] = made;
        visits.set(record, visit);
      }
    },
  };
}

const tick = (/** @type {any} */ site, /** @type {any} */ what, on = true, /** @type {any} */ list = 'checks') =>
  saveCheck(site, 'g', 3, 'c1', { list, what, on });

test('the first tick begins a visit, the next ones go into it, and the same one twice is one', async () => {
  const site = siteWith();
  for (const what of ['label-on', 'earth-checked', 'label-on']) await tick(site, what);
  await tick(site, 4, true, 'steps');
  const [visit] = [...site.visits.values()];
  assert.equal(site.visits.size, 1);
  assert.deepEqual(visit.facets.ticks, { checks: ['label-on', 'earth-checked'], steps: [4] });
  const { begun_at: _, ...identity } = visit.facets.identity;
  assert.deepEqual(identity, { parent: 'g', position: 3, conversion: 'c1', day: dayOf(new Date()), phone: 'p1' });
});

test('a tick that is taken back is gone, and the rest stays', async () => {
  const site = siteWith();
  for (const what of ['label-on', 'earth-checked']) await tick(site, what);
  await tick(site, 'label-on', false);
  const [visit] = [...site.visits.values()];
  assert.deepEqual(visit.facets.ticks, { checks: ['earth-checked'] });
  await tick(site, 'earth-checked', false);
  assert.deepEqual(visit.facets.ticks, {});
});

test('after something was noted, and on another phone, ticks begin a visit of their own', async () => {
  const noted = { id: 'i', order: { identity: 1e9 }, facets: { identity: { position: 3, outcome: 'problem' } } };
  const installations = /** @type {any[]} */ ([]);
  const site = siteWith(installations);
  await tick(site, 'label-on');
  installations.push(noted);
  await tick(site, 'label-on');
  assert.equal(site.visits.size, 2);
  const other = siteWith();
  await tick(other, 'label-on');
  other.device = async () => 'p2';
  await tick(other, 'label-on', false);
  assert.deepEqual([...other.visits.values()][0].facets.ticks, { checks: ['label-on'] });
  await tick(other, 'earth-checked');
  assert.deepEqual([...other.visits.values()].map(({ facets }) => facets.identity.phone), ['p1', 'p2']);
});

const released = [
  { kind: 'bar', code: 'B', number: 2, rows: [1, 3] },
  { kind: 'driver', code: 'D', number: 1, setting_ma: 700 },
];

test('as released is one word; items are said where something differs or was noted of them', () => {
  assert.deepEqual(fittedValue(null, released), { as_released: true });
  assert.deepEqual(fittedValue(editOf(released), released), { as_released: true });
  const withSerial = { items: [released[0], { ...released[1], serials: ['S-1'], spare: false }] };
  assert.deepEqual(fittedValue(withSerial, released), {
    as_released: true,
    items: [released[0], { ...released[1], serials: ['S-1'] }],
  });
  const otherwise = { items: [released[0], { ...released[1], setting_ma: 500, spare: true }], reason: /** @type {const} */ ('none-left') };
  assert.deepEqual(fittedValue(otherwise, released), {
    as_released: false,
    items: otherwise.items,
    reason: 'none-left',
  });
  assert.equal(fittedText(otherwise.items), '2 × B, rows 1, 3; 1 × D, 500 mA, from the spares');
});

test('what differs needs its reason, and each item its code', () => {
  const items = [released[0], { ...released[1], setting_ma: 500 }];
  assert.equal(fittedProblem({ items }, released)?.code, 'card.say-why-fitted');
  assert.equal(fittedProblem({ items, reason: 'other' }, released), null);
  assert.equal(fittedProblem({ items: [{ kind: 'bar', code: ' ', number: 1 }] }, released)?.code, 'card.fitted-without-code');
  assert.equal(fittedProblem(null, released), null);
});

test('each reason that is offered is one of the spec, and each of the spec is offered', () => {
  const { choices } = spec.records.installation.facets.identity.fields.reason;
  const offered = new Set(Object.values(REASONS).flat());
  assert.deepEqual([...offered].sort(), [...choices].sort());
  assert.deepEqual(Object.values(OF_STOP).filter((each) => !REASONS.problem.includes(each)), []);
});

test('of a point the newest reading before and after counts, by the order of the server', () => {
  const reading = (/** @type {string} */ id, /** @type {string} */ point, /** @type {string} */ when, /** @type {number} */ order) =>
    /** @type {any} */ ({ id, order: { identity: order }, facets: { identity: { point, when } } });
  const told = pointsOf([reading('c', 'P10', 'before', 3), reading('b', 'P2', 'before', 9), reading('a', 'P2', 'before', 4), reading('d', 'P2', 'after', 5)]);
  assert.deepEqual(told.map(({ point, before, after }) => [point, before?.id, after?.id]), [['P2', 'b', 'd'], ['P10', 'c', undefined]]);
});
