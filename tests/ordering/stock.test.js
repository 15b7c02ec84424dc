// Stock, and the record in which two who count one delivery meet: the vectors and ids that the server has too.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { stockOf } from '../../pwa/rules/ordering/stock.js';
import { Survey } from '../../pwa/rules/survey.js';
import { fromSpares } from '../../pwa/views/ordering/read_stock.js';
import { idOfName } from '../../pwa/views/name_id.js';
import { barredIn, barredItems, daysAfter, deliveryName, expectedOf, orderedOf, orderState } from '../../pwa/views/ordering/orders.js';

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

test('what was not sent to the supplier comes on no day, however short its lead time', () => {
  const lines = [{ ...line('b', 10), lead_days: 14 }];
  const made = { made_at: '2026-03-01T09:00:00Z', number: 1, lines };
  const state = (/** @type {any} */ more, /** @type {any[]} */ came = []) =>
    orderState(/** @type {any} */ ({ ...order({}, lines), facets: { identity: made, ...more } }), came);
  assert.deepEqual(expectedOf([state({})], 'b'), { on: null, isSent: false });
  const sent = state({ sent: { sent_on: '2026-03-05' } });
  assert.deepEqual(expectedOf([sent], 'b'), { on: '2026-03-19', isSent: true });
  assert.deepEqual(expectedOf([state({}), sent], 'b'), { on: '2026-03-19', isSent: true });
  const promised = state({ sent: { sent_on: '2026-03-05', promised_on: '2026-03-09' } });
  assert.deepEqual(expectedOf([promised], 'b'), { on: '2026-03-09', isSent: true });
  assert.deepEqual(expectedOf([state({}, [delivery('b', { good: 4 })])], 'b'), { on: '2026-03-15', isSent: true });
  assert.deepEqual(expectedOf([state({ cancelled: { reason: 'x' } })], 'b'), { on: null, isSent: true });
});

test('what came beyond what was ordered is told of its line', () => {
  const [told] = orderState(order({}, [line('b', 10)]), [delivery('b', { good: 12 })]).lines;
  assert.deepEqual([told.left, told.over], [0, 2]);
  assert.equal(orderState(order({}, [line('b', -2)]), [delivery('b', { good: 1 })]).lines[0].over, 0);
});

test('an item that was recalled or retired after it was ordered is told as long as some of it is to come', () => {
  const item = (/** @type {string} */ id, /** @type {object} */ facets) => ({ id, type: 'catalogue_item', facets });
  const survey = new Survey(
    /** @type {any} */ ([
      item('b', { recall: { reason: 'It burns' } }),
      item('d', { retired: { retired: true, reason: 'Not made any more' } }),
      item('e', { retired: { retired: false } }),
    ]),
  );
  const barred = barredItems(survey);
  assert.deepEqual([...barred], [
    ['b', { how: 'recalled', reason: 'It burns' }],
    ['d', { how: 'retired', reason: 'Not made any more' }],
  ]);
  const lines = [line('b', 10), line('d', 4), line('e', 1)];
  const told = (/** @type {any} */ more, /** @type {any[]} */ came = []) =>
    barredIn(orderState(order(more, lines), came), barred).map(({ code, how, left }) => [code, how, left]);
  assert.deepEqual(told({}), [['b', 'recalled', 10], ['d', 'retired', 4]]);
  assert.deepEqual(told({}, [delivery('b', { good: 10 })]), [['d', 'retired', 4]]);
  assert.deepEqual(told({ cancelled: { reason: 'x' } }), []);
});

test('what was taken from the spares for a failure has left the stock, what came under warranty has not', () => {
  const failure = (/** @type {string} */ id, /** @type {object} */ replaced) => ({ id, type: 'failure', facets: { identity: { position: 1 }, replaced } });
  const survey = new Survey(
    /** @type {any} */ ([
      failure('1', { how: 'from-spares', item: 'HERON-30', number: 2 }),
      failure('2', { how: 'from-spares', item: 'HERON-30' }),
      failure('3', { how: 'under-warranty', item: 'HERON-30' }),
      failure('4', { how: 'repaired' }),
    ]),
  );
  assert.deepEqual(fromSpares(survey), [
    { code: 'HERON-30', number: 2 },
    { code: 'HERON-30', number: 1 },
  ]);
});
