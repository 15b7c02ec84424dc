import assert from 'node:assert/strict';
import { test } from 'node:test';
import { enteredInPart } from '../../pwa/views/desk/money/entered_in_part.js';

const lacking = (money) => Object.keys(enteredInPart(money));

test('what is not asked for at all lacks nothing', () => {
  assert.deepEqual(lacking({}), []);
  assert.deepEqual(lacking({ mobilisation: 450, permit_pct: 1.2, crew_people: 2 }), []);
});

test('travel lacks the people of a crew and the hours of its day, a container its price or its number, tax what it is on', () => {
  assert.deepEqual(lacking({ travel_per_day: 48 }), ['crew_people', 'crew_day_h']);
  assert.deepEqual(lacking({ travel_h_per_day: 1, crew_people: 2 }), ['crew_day_h']);
  assert.deepEqual(lacking({ short_lamp_container_each: 95 }), ['short_lamp_container_holds']);
  assert.deepEqual(lacking({ pcb_ballast_container_holds: 120 }), ['pcb_ballast_container_each']);
  assert.deepEqual(lacking({ tax_pct: 8 }), ['tax_on']);
  assert.deepEqual(lacking({ tax_pct: 8, tax_on: 'materials', travel_per_day: 0 }), []);
});
