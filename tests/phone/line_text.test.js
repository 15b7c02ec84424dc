// What the line at the foot says, to the letter.

import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { test } from 'node:test';
import { store } from '../../pwa/store/store.js';
import { lineText } from '../../pwa/views/parts/sync_line.js';

const folder = new URL('../../server/spanwalk/spec/words.en/', import.meta.url);
store.tables.words = Object.assign(
  {},
  ...readdirSync(folder).map((name) => JSON.parse(readFileSync(new URL(name, folder), 'utf8'))),
);

/** @param {object} more @returns {any} */
const status = (more) => ({ unsent: 0, photos: 0, attention: 0, conflicts: 0, heard: true, ...more });

test('that the sign-in has ended is said once, with what happens to what is entered', () => {
  const text = lineText(status({ state: 'signed-out', why: 'phone.signed-out', unsent: 3 }));
  assert.equal(text.split('The sign-in has ended').length - 1, 1, text);
  assert.match(text, /is kept on this phone; sign in again to send it\./);
  assert.match(text, /3 /);
});

for (const [why, says] of [
  ['storage-full', 'This phone has no room left. Free some space; do not close Spanwalk before.'],
  [
    'storage-lost',
    "This phone's storage does not answer. If it is short of room, free some; then load the page again.",
  ],
  [
    'storage-cleared',
    "This phone's storage was cleared. Copy what you typed, then load the page again.",
  ],
])
  test(`that storage fails (${why}) is said in a line that leaves room for the form, once, and what waits`, () => {
    assert.equal(lineText(status({ state: 'storage-failing', why })), says);
    assert.equal(lineText(status({ state: 'storage-failing', why, unsent: 3 })), `${says} 3 not sent yet.`);
  });

test('a sign-in that has ended without a reason is said too', () => {
  assert.match(lineText(status({ state: 'signed-out' })), /^The sign-in has ended/);
});
