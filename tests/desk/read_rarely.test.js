// What all of a site is read for is read one at a time, and not for each change.

import assert from 'node:assert/strict';
import test from 'node:test';
import { rarely } from '../../pwa/views/gently.js';

/** Reads that end when they are told to, counted. */
function reads() {
  /** @type {Array<(value: number) => void>} */
  const ends = [];
  const read = () => new Promise((done) => ends.push(done));
  return { ends, ask: rarely(/** @type {() => Promise<number>} */ (read)) };
}
const turn = () => new Promise((done) => setTimeout(done, 5));

test('ten changes while one is read make one more read, and all who asked meanwhile get it', async () => {
  const { ends, ask } = reads();
  const first = ask();
  await turn();
  const later = Array.from({ length: 10 }, () => ask());
  await turn();
  assert.equal(ends.length, 1);
  ends[0](1);
  assert.equal(await first, 1);
  while (ends.length < 2) await turn();
  ends[1](2);
  assert.deepEqual(await Promise.all(later), Array(10).fill(2));
  assert.equal(ends.length, 2);
});

test('what changes after a read has begun is in the next', async () => {
  let now = 'before';
  const ask = rarely(async () => {
    const seen = now;
    await turn();
    return seen;
  });
  const first = ask();
  await Promise.resolve();
  await Promise.resolve();
  now = 'after';
  assert.deepEqual([await first, await ask()], ['before', 'after']);
});

test('a read that fails is told to who asked, and the next is made all the same', async () => {
  let times = 0;
  const ask = rarely(async () => {
    times += 1;
    if (times === 1) throw new Error('no storage');
    return times;
  });
  await assert.rejects(ask(), /no storage/);
  assert.equal(await ask(), 2);
});
