// A site may be as large as it likes: what is drawn, judged and drawn anew is what is looked at.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { around } from '../../pwa/views/parts/around.js';
import { gently } from '../../pwa/views/gently.js';
import { sameAnswer } from '../../pwa/views/same_answer.js';
import { worstFirst } from '../../pwa/views/measuring/room_verdicts.js';
import { byFloor } from '../../pwa/views/surveying/next_room.js';

const hundred = Array.from({ length: 100 }, (_, n) => n);
const near = (here) => around(hundred, (each) => each === here, 6);

test('of a hundred and twenty rooms thirteen are drawn, six before and six after the one that is shown', () => {
  assert.deepEqual(near(50), [44, 45, 46, 47, 48, 49, 50, 51, 52, 53, 54, 55, 56]);
});

test('at either end of the floor there are as many', () => {
  assert.deepEqual(near(0), hundred.slice(0, 13));
  assert.deepEqual(near(99), hundred.slice(-13));
});

test('a floor of no more rooms than that is drawn whole', () => {
  assert.deepEqual(
    around([1, 2, 3], (each) => each === 3, 6),
    [1, 2, 3],
  );
});

test('a list that stands in two answers, of the same records, is the same', () => {
  const record = { id: 'r', facets: { identity: { name: 'Bottling' } } };
  assert.ok(sameAnswer({ rooms: [record], floor: null }, { rooms: [record], floor: null }));
  assert.ok(sameAnswer(new Map([['r', record]]), new Map([['r', structuredClone(record)]])));
});

test('whatever somebody could see differ is another answer', () => {
  const record = { id: 'r', facets: { identity: { name: 'Bottling' } } };
  const renamed = { id: 'r', facets: { identity: { name: 'Malting' } } };
  for (const [a, b] of [
    [[record], [renamed]],
    [[record], []],
    [{ a: undefined }, {}],
    [{ a: 1 }, { b: 1 }],
    [new Map([['r', 1]]), new Map([['s', 1]])],
    [undefined, null],
    [new Date(0), new Date(0)],
  ])
    assert.equal(sameAnswer(a, b), false, `${JSON.stringify(a)} and ${JSON.stringify(b)}`);
});

test('a room is told by the worst of its groups first', () => {
  assert.deepEqual(worstFirst(['fits', 'tight', 'fits', 'too-long', 'so-far']), [
    { degree: 'too-long', groups: 1 },
    { degree: 'tight', groups: 1 },
    { degree: 'so-far', groups: 1 },
    { degree: 'fits', groups: 2 },
  ]);
  assert.deepEqual(worstFirst([]), []);
});

test('long work ends with what it came to, and stops where nobody wants it any more', async () => {
  let done = 0;
  function* steps() {
    for (; done < 5; done++) yield;
    return done;
  }
  assert.equal(await gently(steps()), 5);
  done = 0;
  assert.equal(await gently(steps(), () => false), undefined);
  assert.equal(done, 0);
});

test('rooms are found by their floors in one pass, in the order in which they came', () => {
  const rooms = [
    { id: 'a', parent: 'one' },
    { id: 'b', parent: 'two' },
    { id: 'c', parent: 'one' },
  ];
  const ids = byFloor(rooms)
    .get('one')
    .map(({ id }) => id);
  assert.deepEqual(ids, ['a', 'c']);
});
