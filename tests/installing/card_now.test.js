// A released card is frozen: what the survey says since that may hurt stands on it all the same, at the step where it matters.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { cardNow } from '../../pwa/views/crew/card_now.js';
import { hazardsOf } from '../../pwa/views/crew/hazards.js';
import { containerOf, wantedOf } from '../../pwa/views/today/picking_list.js';

const standing = JSON.parse(readFileSync(new URL('../../seed_data/reference/standing.json', import.meta.url), 'utf8'));
const tables = /** @type {any} */ ({ standing });
const ELECTRONIC = { ballast: 'electronic', pcb_mark: 'marked', made: '2006' };
const OLD = { ballast: 'magnetic', pcb_mark: 'no-mark', made: '1974' };
const FROZEN = {
  remove: { lamps: 2, lamp: 'T8 4 ft', ballasts: 1, ballast: 'electronic', pcb: 'not suspect' },
  cautions: ['plan.caution.isolate'],
  steps: [
    { code: 'plan.step.isolate', facts: {}, cautions: ['plan.caution.isolate'] },
    { code: 'plan.step.take-ballast', facts: { ballasts: 1, ballast: 'electronic', pcb: 'not suspect' } },
    { code: 'plan.step.lay-bars', facts: {} },
  ],
};
/** @param {object} [frozen] */
const released = (frozen = FROZEN) =>
  /** @type {any} */ ({ facets: { identity: { frozen, facts: { kind: { ballast: ELECTRONIC } } } } });
/** What is around a fixture: nothing but what a test says. @param {Record<string, any>} said */
const around = ({ ballast = ELECTRONIC, ceiling = {}, supply = {} } = {}) =>
  /** @type {any} */ ({
    kind: { facets: { ballast, housing: { magnet_holds: 'yes' } } },
    room: { facets: { ceiling: { ceiling: 'plasterboard', access: 'reach', ...ceiling } } },
    group: { facets: { supply: { shared_neutral: 'no', ...supply } } },
  });
/** @param {any} card @param {string} step */
const cautionsAt = (card, step) =>
  card.steps.find((/** @type {any} */ each) => each.code === `plan.step.${step}`).cautions ?? [];

test('a card stays as it was released while nothing says otherwise', () => {
  assert.deepEqual(cardNow(released(), around(), tables), FROZEN);
});

test('a ballast that may hold PCB after all has its caution where it is taken out, and is not called free of it', () => {
  const card = cardNow(released(), around({ ballast: OLD }), tables);
  assert.deepEqual(cautionsAt(card, 'take-ballast'), ['plan.caution.pcb']);
  assert.equal(card.steps?.[1].facts.pcb, 'suspect');
  assert.equal(card.remove?.pcb, 'suspect');
  assert.ok(card.cautions?.includes('plan.caution.pcb'));
});

test('tiles, asbestos, a second switched line and a shared neutral found since stand where the work begins', () => {
  const ceiling = { ceiling: 'lay-in-grid', asbestos: 'may-hold-asbestos' };
  const supply = { switching: 'two-levels', shared_neutral: 'yes' };
  const told = cautionsAt(cardNow(released(), around({ ceiling, supply }), tables), 'isolate');
  for (const name of ['asbestos', 'tiles', 'two-switched-lines', 'shared-neutral', 'isolate'])
    assert.ok(told.includes(`plan.caution.${name}`), name);
});

test('a caution whose step the card lacks stands at its first step', () => {
  const card = cardNow(released(), around({ ballast: { ...ELECTRONIC, capacitor: 'seen' } }), tables);
  assert.ok(cautionsAt(card, 'isolate').includes('plan.caution.capacitor'));
});

test('a caution that the card has is not told twice', () => {
  const has = { ...FROZEN, cautions: ['plan.caution.isolate', 'plan.caution.pcb'] };
  assert.deepEqual(cautionsAt(cardNow(released(has), around({ ballast: OLD }), tables), 'take-ballast'), []);
});

test('ballasts that may hold PCB by what is known now are picked a container of their own', () => {
  const job = /** @type {any} */ ({ conversion: released(), left: [1, 2], group: { facets: { count: { count: 2 } } } });
  const containers = (/** @type {any} */ now) =>
    wantedOf({ ...job, ...now }).filter(({ sort }) => sort === 'ballasts-out').map(containerOf);
  assert.deepEqual(containers(around()), ['ballasts']);
  assert.deepEqual(containers(around({ ballast: OLD })), ['ballasts-apart']);
});

test('a ceiling that may hold asbestos stands before all else, released before it was known or not', () => {
  const { room } = around({ ceiling: { asbestos: 'may-hold-asbestos' } });
  assert.deepEqual(hazardsOf({ conversion: released(), room }), ['plan.caution.asbestos']);
  assert.deepEqual(hazardsOf({ conversion: released(), room: around().room }), []);
});
