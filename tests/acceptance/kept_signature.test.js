// What is kept of a signature that is being given, and drawn again after the phone was killed.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { begun, drawStrokes, ledOn, strokesOf } from '../../pwa/views/today/strokes.js';

/** A pen that notes what it is told. */
function aPen() {
  const told = [];
  const note =
    (name) =>
    (...at) =>
      told.push([name, ...at]);
  return { told, beginPath: note('begin'), moveTo: note('move'), lineTo: note('line'), stroke: note('stroke') };
}

test('strokes are whole numbers and each begins its own', () => {
  let strokes = begun([], [1.4, 2.6]);
  strokes = ledOn(strokes, [10.5, 20]);
  strokes = begun(strokes, [50, 60]);
  assert.deepEqual(strokes, [
    [1, 3, 11, 20],
    [50, 60],
  ]);
});

test('a point as good as on the last one adds nothing', () => {
  const strokes = begun([], [10, 10]);
  assert.equal(ledOn(strokes, [11, 10]), strokes);
  assert.notEqual(ledOn(strokes, [12, 10]), strokes);
});

test('a scribble without end is kept so far and no further', () => {
  let strokes = begun([], [0, 0]);
  for (let n = 1; n < 10_000; n += 1) strokes = ledOn(strokes, [(n * 7) % 600, (n * 13) % 200]);
  assert.equal(strokes.flat().length, 8000);
});

test('what was kept is drawn again point by point', () => {
  const pen = aPen();
  drawStrokes(pen, JSON.parse(JSON.stringify([[1, 3, 11, 20], [50, 60]])));
  assert.deepEqual(pen.told, [
    ['begin'], ['move', 1, 3], ['line', 1, 3], ['stroke'],
    ['begin'], ['move', 1, 3], ['line', 11, 20], ['stroke'],
    ['begin'], ['move', 50, 60], ['line', 50, 60], ['stroke'],
  ]);
});

test('what is kept and is no stroke is left out', () => {
  assert.deepEqual(strokesOf(undefined), []);
  assert.deepEqual(strokesOf([[1, 2], [3], 'x', [4, 'y'], [5, null]]), [[1, 2]]);
});
