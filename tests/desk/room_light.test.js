// The light of a room in one picture, and the grid of points on which it is read.
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { test } from 'node:test';
import { grid } from '../../pwa/rules/light/light_grid.js';
import { store } from '../../pwa/store/store.js';
import { nextOf } from '../../pwa/views/crew/light_reading.js';
import { rowsOf, toldOf } from '../../pwa/views/desk/planning/room_light.js';

const folder = new URL('../../server/spanwalk/spec/words.en/', import.meta.url);
store.tables.words = Object.assign(
  {},
  ...readdirSync(folder).map((name) => JSON.parse(readFileSync(new URL(name, folder), 'utf8'))),
);
const { cases } = JSON.parse(readFileSync(new URL('../vectors/light_grid.json', import.meta.url), 'utf8'));
const lux = (/** @type {number} */ each) => ({ lux: each, low: each - 50, high: each + 60 });
const light = {
  ...{ found: lux(400), all_burning: lux(450), wanted: 420, day_one: lux(600), maintained: null, years: 10 },
  ...{ read_before: { lux: 390, points: 3, left_out: 0 }, read_after: { lux: 0, points: 0, left_out: 2 } },
  ...{ rooms: 0, grid: null, spacing_to_height: null, says: [] },
};

test('grids are those of the vectors', () => {
  assert.equal(cases.length, 7);
  for (const { name, sides, along, across, cell_m } of cases) {
    const found = grid(sides[0], sides[1]);
    assert.deepEqual([found.along, found.across], [along, across], name);
    assert.ok(Math.abs(found.cell_m - cell_m) < 0.002, name);
  }
});

test('the picture has a row for each light that is known, with what was read where it belongs', () => {
  assert.deepEqual(
    rowsOf(light).map(({ of, read }) => [of.lux, read]),
    [
      [400, 390],
      [450, null],
      [600, null],
    ],
  );
});

test('a screen reader hears every figure of the picture', () => {
  const told = toldOf(rowsOf(light), light.wanted);
  for (const figure of ['400', '350', '460', '390', '450', '600', '420']) assert.ok(told.includes(figure), figure);
});

test('the next point before is the next of the grid, and after one that was read before', () => {
  const room = /** @type {any} */ ({ facets: { size: { length_ticks: 5 * 320_000, width_ticks: 4 * 320_000 } } });
  const read = /** @type {any} */ ({});
  const points = [{ point: 'A1', before: read, after: read }, { point: 'A2', before: read }, { point: 'A3', before: read }];
  assert.deepEqual(nextOf(room, points, { point: 'A4', when: 'before' }), { point: 'A5' });
  assert.deepEqual(nextOf(room, points, { point: 'A2', when: 'after' }), { point: 'A3' });
  assert.deepEqual(nextOf(room, points.slice(0, 2), { point: 'A2', when: 'after' }), {});
});
