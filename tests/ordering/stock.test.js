// Stock, and the record in which two who count one delivery meet: the vectors and ids that the server has too.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { stockOf } from '../../pwa/rules/ordering/stock.js';
import { idOfName } from '../../pwa/views/name_id.js';
import { daysAfter, deliveryName, orderedOf, orderState } from '../../pwa/views/ordering/orders.js';

const { cases } = JSON.parse(readFileSync(new URL('../vectors/stock.json', import.meta.url), 'utf8'));

for (const each of cases)
  test(`stock: ${each.name}`, () =>
    assert.deepEqual(stockOf(each.ordered, each.deliveries, each.moves, each.used, each.claims), each.expect));

test('however a delivery note is written, what came of an item has one record', async () => {
  // Python: uuid.uuid5(uuid.UUID('00000000-0000-4000-8000-000000000001'), 'spanwalk:delivery:DN 17:b')
  const expected = 'a02985b7-12e6-5cb2-a57e-e3be745df0fe';
  const order = '00000000-0000-4000-8000-000000000001';
  assert.equal(await idOfName(order, deliveryName(' dn  17 ', 'b')), expected);
  assert.notEqual(await idOfName(order, deliveryName('dn 18', 'b')), expected);
});

/** @param {string} item @param {number} pieces */
const line = (item, pieces) => ({ item, code: item, pieces });
/** @param {Record<string, unknown>} more @param {unknown[]} lines */
const order = (more, lines) =>
  /** @type {any} */ ({ id: 'o', type: 'order', facets: { identity: { number: 1, lines }, ...more } });
/** @param {string} item @param {Record<string, number>} count */
const delivery = (item, count) =>
  /** @type {any} */ ({ id: item, type: 'delivery', facets: { identity: { item, slip: '1' }, count }, seqs: {} });

test('an order is not sent, waits, came in part, came, or is cancelled', () => {
  const lines = [line('b', 10), line('d', -2)];
  const state = (/** @type {any} */ more, /** @type {any[]} */ came) => orderState(order(more, lines), came).state;
  assert.equal(state({}, []), 'not-sent-yet');
  assert.equal(state({ sent: { sent_on: '2026-03-01' } }, []), 'waiting');
  assert.equal(state({}, [delivery('b', { good: 9, damaged: 1 })]), 'part-came');
  assert.equal(state({}, [delivery('b', { good: 10 })]), 'all-came');
  assert.equal(state({ cancelled: { reason: 'none there' } }, []), 'cancelled');
});

test('of a cancelled order only what came counts as ordered', () => {
  const [lines, came] = [[line('b', 10)], [delivery('b', { good: 4 })]];
  assert.deepEqual(orderedOf([orderState(order({}, lines), came)]), { b: 10 });
  assert.deepEqual(orderedOf([orderState(order({ cancelled: { reason: 'x' } }, lines), came)]), { b: 4 });
});

test('a lead time goes on over the end of a month', () => {
  assert.equal(daysAfter('2026-02-20', 10), '2026-03-02');
});
