import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isWrong, millimetres, queryOf, wantedOf } from '../../pwa/views/desk/labels/query.js';

const FORM = {
  sheet: 'labels',
  what: 'new',
  floor: '',
  room: '',
  fixture: '',
  paper: 'a4',
  start: '1',
  count: '',
  date: '2026-11-28',
  language: 'en',
  numbers: {},
};

test('a measure is typed in millimetres or inches, with a sign where a print is moved', () => {
  // 2 5/8 in = 2.625 × 25.4 = 66.675 mm, by hand.
  assert.equal(millimetres('2 5/8 in', 'mm'), '66.675');
  assert.equal(millimetres('1', 'in'), '25.4');
  assert.equal(millimetres('37', 'mm'), '37');
  assert.equal(millimetres('-1.5 mm', 'in'), '-1.5');
  assert.equal(millimetres('0', 'in'), '0');
  assert.equal(millimetres('wide', 'mm'), null);
});

test('what is no number is wrong, what is empty is not', () => {
  assert.equal(isWrong('rows', 'x', 'mm'), true);
  assert.equal(isWrong('rows', '8', 'mm'), false);
  assert.equal(isWrong('width_mm', 'x', 'mm'), true);
  assert.equal(isWrong('width_mm', '', 'mm'), false);
});

test('one fixture is a group and a position; blank codes hang nowhere', () => {
  const form = { ...FORM, floor: 'f', room: 'r', fixture: 'g 3' };
  assert.deepEqual(wantedOf(form), { what: 'new', floor: 'f', room: 'r', group: 'g', position: 3 });
  assert.deepEqual(wantedOf({ ...form, what: 'blank' }), { what: 'blank' });
});

test('a query has the numbers of the chosen paper only', () => {
  const numbers = { width_mm: '50', height_mm: '25', rows: '8', shift_down_mm: '-1' };
  const roll = Object.fromEntries(new URLSearchParams(queryOf({ ...FORM, paper: 'roll', numbers }, 'mm')));
  assert.deepEqual(
    [roll.width_mm, roll.height_mm, roll.rows, roll.shift_down_mm, roll.date],
    ['50', '25', undefined, '-1', undefined],
  );
  const sheet = Object.fromEntries(new URLSearchParams(queryOf({ ...FORM, numbers }, 'mm')));
  assert.deepEqual([sheet.width_mm, sheet.shift_down_mm], [undefined, '-1']);
});

test('a count and a date go with notices', () => {
  const query = queryOf({ ...FORM, sheet: 'notices', count: '14' }, 'mm');
  const asked = Object.fromEntries(new URLSearchParams(query));
  assert.deepEqual([asked.count, asked.date], ['14', '2026-11-28']);
});
