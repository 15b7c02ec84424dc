// The sync line: one test for each thing that a state does in its own way, and one for the rule the others follow.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { backOffS } from '../../pwa/sync/backoff.js';
import { atRest, LINE_EVENTS, LINE_STATES, step } from '../../pwa/sync/line.js';

const NOTHING = { operations: 0, photos: 0, refused: 0 };
const SOME = { operations: 3, photos: 1, refused: 0 };
const BAD = { operations: 3, photos: 0, refused: 1 };

test('at rest the line says what the counts say, the worst first', () => {
  assert.equal(atRest(NOTHING), 'sent');
  assert.equal(atRest(SOME), 'unsent');
  assert.equal(atRest({ ...NOTHING, photos: 1 }), 'unsent');
  assert.equal(atRest(BAD), 'needs-attention');
});

test('every state answers every event with a state and an action', () => {
  for (const state of LINE_STATES)
    for (const event of LINE_EVENTS) {
      const next = step(state, event, SOME);
      assert.ok(LINE_STATES.includes(next.state), `${state} × ${event}`);
      assert.ok(['sync', 'wait', 'back-off', 'stay'].includes(next.then), `${state} × ${event}`);
    }
});

/** [state, event, counts, next state, action] */
const CELLS = [
  ['sent', 'saved', SOME, 'unsent', 'sync'],
  ['sent', 'began', NOTHING, 'sending', 'stay'],
  ['unsent', 'network-lost', SOME, 'offline', 'back-off'],
  ['needs-attention', 'saved', BAD, 'needs-attention', 'sync'],
  ['sending', 'finished', NOTHING, 'sent', 'wait'],
  ['sending', 'finished', SOME, 'unsent', 'wait'],
  ['sending', 'finished', BAD, 'needs-attention', 'wait'],
  ['sending', 'saved', SOME, 'sending', 'stay'],
  ['sending', 'woken', SOME, 'sending', 'stay'],
  ['sending', 'tried', SOME, 'sending', 'stay'],
  ['sending', 'network-back', SOME, 'sending', 'stay'],
  ['sending', 'server-failed', SOME, 'failing', 'back-off'],
  ['sending', 'session-ended', SOME, 'signed-out', 'stay'],
  ['sending', 'storage-failed', SOME, 'storage-failing', 'back-off'],
  ['offline', 'saved', SOME, 'offline', 'stay'],
  ['offline', 'network-back', SOME, 'unsent', 'sync'],
  ['offline', 'woken', SOME, 'offline', 'sync'],
  ['failing', 'saved', SOME, 'failing', 'stay'],
  ['failing', 'tried', SOME, 'failing', 'sync'],
  ['signed-out', 'saved', SOME, 'signed-out', 'stay'],
  ['signed-out', 'woken', SOME, 'signed-out', 'stay'],
  ['signed-out', 'network-back', SOME, 'signed-out', 'stay'],
  ['signed-out', 'network-lost', SOME, 'signed-out', 'stay'],
  ['signed-out', 'began', SOME, 'signed-out', 'stay'],
  ['signed-out', 'storage-works', SOME, 'signed-out', 'stay'],
  ['signed-out', 'signed-in', SOME, 'unsent', 'sync'],
  ['storage-failing', 'began', SOME, 'storage-failing', 'stay'],
  ['storage-failing', 'finished', SOME, 'storage-failing', 'back-off'],
  ['storage-failing', 'network-lost', SOME, 'storage-failing', 'back-off'],
  ['storage-failing', 'server-failed', SOME, 'storage-failing', 'back-off'],
  ['storage-failing', 'network-back', SOME, 'storage-failing', 'sync'],
  ['storage-failing', 'saved', SOME, 'unsent', 'sync'],
  ['storage-failing', 'storage-works', NOTHING, 'sent', 'sync'],
];

test('each cell of the table', () => {
  for (const [state, event, counts, to, then] of CELLS) {
    assert.deepEqual(step(state, event, counts), { state: to, then }, `${state} × ${event}`);
  }
});

test('tries go out ever more rarely, spread by half, five minutes at most', () => {
  assert.deepEqual([1, 2, 3, 4].map((failures) => backOffS(failures, 1)), [2, 4, 8, 16]);
  assert.deepEqual([1, 2, 3].map((failures) => backOffS(failures, 0)), [1, 2, 4]);
  assert.equal(backOffS(50, 1), 300);
});

test('a server that asks for patience gets it', () => {
  assert.equal(backOffS(1, 0, 30), 30);
});
