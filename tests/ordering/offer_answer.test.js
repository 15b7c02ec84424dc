// What may be noted as a customer's answer to an offer.

import assert from 'node:assert/strict';
import test from 'node:test';

import { answerFields, isLate, madeOn, priceOf, wrongDay } from '../../pwa/views/desk/money/offer_answer.js';
import { isDay, notDays } from '../../pwa/views/forms/days_typed.js';

const told = {
  currency: 'USD',
  options: [
    { name: 'today', money: { cost: 0 } },
    { name: 'planned', money: { cost: 35506.19 } },
    { name: 'leanest', money: { cost: 35435.52 } },
  ],
};
const offerOf = (identity) => ({
  facets: { identity: { made_at: '2026-12-01T12:00:00Z', valid_until: '2026-12-31', told, ...identity } },
});
const offer = offerOf({});
const fields = {
  answer: { title: 'Answer' },
  option: { title: 'Which option', choices: ['as-offered', 'least-to-pay-now', 'as-released'] },
  answered_on: { title: 'On' },
  by_whom: { title: 'By whom' },
};
const wrong = (day) => wrongDay(offer, fields, '2027-01-10', { answered_on: day }).answered_on?.code;

test('only options that stand in the offer can be accepted', () => {
  const found = answerFields(offer, fields);
  assert.deepEqual(found.option.choices, ['as-offered', 'least-to-pay-now']);
  assert.deepEqual(Object.keys(found), Object.keys(fields), 'in their order');
});

test('a change order has no options to choose from', () => {
  assert.equal('option' in answerFields(offerOf({ told: {} }), fields), false);
});

test('what was accepted costs what its own option costs', () => {
  assert.equal(priceOf(offer), 35506.19);
  assert.equal(priceOf(offer, 'least-to-pay-now'), 35435.52);
  assert.equal(priceOf(offer, 'as-released'), null);
});

test('a day that is none is not taken', () => {
  for (const day of ['yesterday', '2026-13-01', '2026-02-30', '1.12.2026', '2026-12-1']) {
    assert.equal(isDay(day), false, day);
    assert.equal(wrong(day), 'field.unlike', day);
  }
  assert.equal(isDay('2028-02-29'), true);
  assert.deepEqual(notDays(fields, ['answered_on'], {}), {});
});

test('nobody answers before an offer is made, nor tomorrow', () => {
  assert.equal(wrong('2026-11-30'), 'offer.answered-before');
  assert.equal(wrong('2027-01-11'), 'offer.answered-to-come');
  assert.equal(wrong('2026-12-01'), undefined);
  assert.equal(wrong('2027-01-10'), undefined);
});

test('an offer that was accepted after its last day says so', () => {
  assert.equal(isLate(offer, { answer: 'accepted', answered_on: '2026-12-31' }), false);
  assert.equal(isLate(offer, { answer: 'accepted', answered_on: '2027-01-01' }), true);
  assert.equal(isLate(offer, { answer: 'refused', answered_on: '2027-01-01' }), false);
});

test('an offer is of the day that its paper has, wherever its manager is', () => {
  const made = { made_at: '2026-12-01T23:30:00Z', told: { ...told, made_on: '2026-11-30' } };
  assert.equal(madeOn(offerOf(made)), '2026-11-30');
  assert.deepEqual(wrongDay(offerOf(made), fields, '2027-01-10', { answered_on: '2026-11-30' }), {});
});
