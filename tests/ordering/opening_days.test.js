// How the days on which a room may be worked in are told.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { store } from '../../pwa/store/store.js';
import { firstDay } from '../../pwa/views/desk/crews/schedule.js';
import { daysText } from '../../pwa/views/parts/work_hours.js';

const WEEK = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'];
store.tables.words = {
  'schedule.day-to-day': '{from} to {to}',
  ...Object.fromEntries(WEEK.map((day) => [`choice.${day}`, day[0].toUpperCase() + day.slice(1)])),
};

test('three days in a row and more are told by the first and the last, two and single ones by name', () => {
  assert.equal(daysText(WEEK.slice(0, 5)), 'Monday to Friday');
  assert.equal(daysText(['saturday', 'sunday']), 'Saturday, Sunday');
  assert.equal(daysText(['monday', 'wednesday', 'thursday', 'friday', 'sunday']), 'Monday, Wednesday to Friday, Sunday');
  assert.equal(daysText(WEEK), 'Monday to Sunday');
  assert.equal(daysText([]), '');
});

test('a schedule begins today as long as its shift is still to begin, then tomorrow', () => {
  assert.equal(firstDay(new Date(2026, 2, 31, 6, 59), '07:00'), '2026-03-31');
  assert.equal(firstDay(new Date(2026, 2, 31, 7, 0), '07:00'), '2026-03-31');
  assert.equal(firstDay(new Date(2026, 2, 31, 7, 1), '07:00'), '2026-04-01');
});
