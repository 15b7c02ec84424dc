// What the server computes is asked for once when a screen opens, and once again when there is something new.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { followed } from '../../pwa/views/parts/when_heard.js';

const AT_REST = { heard: true, isAtRest: true };
const BUSY = { heard: true, isAtRest: false };

/** @param {number | null} turn @param {Array<{heard: boolean, isAtRest: boolean, turn: number}>} moments */
const timesAfter = (turn, moments) =>
  moments.reduce((before, now) => followed(before, now), { turn, times: 0 }).times;

test('nothing is asked again while nothing is new, however often the line moves', () => {
  assert.equal(timesAfter(7, [AT_REST, BUSY, AT_REST, AT_REST].map((each) => ({ ...each, turn: 7 }))), 0);
});

test('what was saved here is asked about once, when it is sent and the sync is over', () => {
  const saved = { ...BUSY, turn: 8 };
  assert.equal(timesAfter(7, [saved, saved]), 0);
  assert.equal(timesAfter(7, [saved, { ...BUSY, turn: 9 }, { ...AT_REST, turn: 9 }, { ...AT_REST, turn: 9 }]), 1);
});

test('what the first sync brings is not asked about: the server knew it when the screen opened', () => {
  const first = [
    { heard: false, isAtRest: true, turn: 0 },
    { heard: false, isAtRest: false, turn: 5 },
    { ...AT_REST, turn: 9 },
  ];
  assert.equal(timesAfter(null, first), 0);
  assert.equal(timesAfter(null, [...first, { ...AT_REST, turn: 10 }]), 1);
});
