// Tables of the catalogue: which items are found, in which order, and in which state each is.
import assert from 'node:assert/strict';
import test from 'node:test';
import { columnsOf, found, rowsOf, stateOf } from '../../pwa/views/desk/catalogue/rows.js';

const item = (id, code, more = {}) => ({
  id,
  facets: { identity: { item: 'bar', code, ...more.identity }, bar: more.bar, ...more.facets },
});
const price = (parent, each) => ({ id: `p-${parent}`, parent, facets: { identity: { each } } });
const text = (_, value) => (value === undefined ? '' : String(value));
const look = (rows, how) =>
  found(rows, { sort: 'bar', state: 'all', wanted: '', order: { by: -1, down: false }, ...how }, text).map(
    (row) => row.item.facets.identity.code,
  );
const EACH = columnsOf('bar').findIndex(({ type, field }) => type === 'price' && field === 'each');

test('codes stand in the order in which people count: B-4 before B-12', () => {
  assert.deepEqual(look(rowsOf([item('1', 'B-12'), item('2', 'B-4')], [])), ['B-4', 'B-12']);
});

test('numbers are sorted as numbers, and what nobody said stands last whichever way', () => {
  const rows = rowsOf([item('1', 'A'), item('2', 'B'), item('3', 'C')], [price('1', 10), price('3', 9.5)]);
  assert.deepEqual(look(rows, { order: { by: EACH, down: false } }), ['C', 'A', 'B']);
  assert.deepEqual(look(rows, { order: { by: EACH, down: true } }), ['A', 'C', 'B']);
});

test('every wanted word must stand in a row, in any column and any case', () => {
  const rows = rowsOf(
    [item('1', 'TERN-4', { facets: { supply: { supplier: 'Harbour Supply' } } }), item('2', 'TERN-2')],
    [],
  );
  assert.deepEqual(look(rows, { wanted: 'tern' }), ['TERN-2', 'TERN-4']);
  assert.deepEqual(look(rows, { wanted: 'HARBOUR tern' }), ['TERN-4']);
  assert.deepEqual(look(rows, { wanted: 'harbour tern-2' }), []);
});

test('an item is recalled before it is retired before it is not offered; brought back it is usable', () => {
  const state = (facets, identity) => stateOf(item('1', 'A', { facets, identity }));
  assert.equal(state({}), 'usable');
  assert.equal(state({}, { offered: false }), 'not-offered');
  assert.equal(state({ retired: { retired: true } }, { offered: false }), 'retired');
  assert.equal(state({ retired: { retired: true }, recall: { reason: 'hot' } }), 'recalled');
  assert.equal(state({ retired: { retired: false }, recall: {} }), 'usable');
});

test('only the items of one sort and state are in a table', () => {
  const rows = rowsOf(
    [
      item('1', 'A'),
      item('2', 'B', { facets: { retired: { retired: true } } }),
      item('3', 'C', { identity: { item: 'driver' } }),
    ],
    [],
  );
  assert.deepEqual(look(rows, { state: 'retired' }), ['B']);
  assert.deepEqual(look(rows), ['A', 'B']);
});
