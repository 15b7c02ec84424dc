// Where a finger is on a picture, how an arrow lies on it, and what a zoom leaves in view. Expected numbers by hand.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import {
  arrowNudged,
  arrowTo,
  drawnArrow,
  nextZoom,
  nudged,
  pinched,
  pointIn,
  scrollAfter,
  turned,
  WHOLE,
} from '../../pwa/views/photos/geometry.js';

const BOX = { left: 20, top: 100, width: 400, height: 200 };
const SIZE = { width: 1600, height: 1200 };

test('a finger in the middle of a picture is at half of its width and height', () => {
  assert.deepEqual(pointIn(BOX, 220, 200), { x: 5000, y: 5000 });
});

test('a finger beside the picture is at its edge', () => {
  assert.deepEqual(pointIn(BOX, 0, 999), { x: 0, y: WHOLE });
});

test('a nudge is half a hundredth, and stops at the edge', () => {
  assert.deepEqual(nudged({ x: 5000, y: 20 }, { x: 1, y: -1 }), { x: 5050, y: 0 });
});

test('zoom goes up and down by steps and stops at the whole and at eight times', () => {
  assert.deepEqual([nextZoom(1, 1), nextZoom(1, -1), nextZoom(8, 1), nextZoom(1.7, 1), nextZoom(1.7, -1)], [1.5, 1, 8, 2, 1.5]);
});

test('fingers twice as far apart make it twice as large, never smaller than whole', () => {
  assert.deepEqual([pinched(1.5, 100, 200), pinched(2, 100, 20), pinched(4, 100, 900), pinched(2, 0, 50)], [3, 1, 8, 2]);
});

test('what lies under the finger stays under it', () => {
  // 300 px of a picture at zoom 2 lie under a finger 100 px from the edge, scrolled by 200: at zoom 4 they are 600.
  assert.equal(scrollAfter(200, 100, 2, 4), 500);
  assert.equal(scrollAfter(500, 100, 4, 1), 50);
  assert.equal(scrollAfter(0, 100, 4, 1), 0);
});

test('an arrow comes from the middle of the picture, so that it lies on it', () => {
  // 22 % of 1,200 px are 264 px: 1,650 of 10,000 across, 2,200 down.
  assert.deepEqual(arrowTo({ x: 9000, y: 5000 }, SIZE), { from_x: 7350, from_y: 5000, to_x: 9000, to_y: 5000 });
  assert.deepEqual(arrowTo({ x: 5000, y: 500 }, SIZE), { from_x: 5000, from_y: 2700, to_x: 5000, to_y: 500 });
});

test('an arrow turned eight times lies as before', () => {
  const arrow = arrowTo({ x: 5000, y: 4000 }, SIZE);
  let now = arrow;
  for (let times = 0; times < 8; times += 1) now = turned(now, SIZE);
  assert.ok(Math.abs(now.from_x - arrow.from_x) <= 8 && Math.abs(now.from_y - arrow.from_y) <= 8);
  assert.notDeepEqual(turned(arrow, SIZE), arrow);
});

test('an arrow that is moved keeps its direction', () => {
  const arrow = { from_x: 5000, from_y: 5000, to_x: 5000, to_y: 2800 };
  assert.deepEqual(arrowNudged(arrow, { x: 1, y: 0 }, SIZE), { from_x: 5050, from_y: 5000, to_x: 5050, to_y: 2800 });
});

test('the head of a drawn arrow ends where it points, whatever the shape of the picture', () => {
  const { head, shaft } = drawnArrow({ from_x: 0, from_y: 5000, to_x: 10000, to_y: 5000 }, { width: 1000, height: 500 });
  assert.equal(head.split(' ')[0], '1000.0,250.0');
  assert.deepEqual([shaft.x1, shaft.y1, shaft.x2, shaft.y2], [0, 250, 700, 250]);
});
