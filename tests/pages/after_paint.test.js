// What a finger asks for is drawn after the frame that shows the touch; nothing that comes next finds it undrawn.

import assert from 'node:assert/strict';
import { test } from 'node:test';

/** A window with frames that come when told, and a clock that is told too. */
async function page() {
  const listeners = new Map();
  const timers = new Map();
  const frames = [];
  let turn = 0;
  const clock = {
    addEventListener: (name, heard) => listeners.set(name, [...(listeners.get(name) ?? []), heard]),
    requestAnimationFrame: (run) => frames.push(run),
    setTimeout: (run, ms = 0) => {
      turn += 1;
      timers.set(turn, { run, ms });
      return turn;
    },
    clearTimeout: (id) => timers.delete(id),
    queueMicrotask: (run) => run(),
  };
  const { fingerFirst } = await import('../../pwa/views/after_paint.js');
  return {
    ...fingerFirst(clock),
    hear: (name) => (listeners.get(name) ?? []).forEach((heard) => heard({ type: name })),
    frame: () => frames.splice(0).forEach((run) => run()),
    /** All timers that are due within so many milliseconds. */
    pass: (ms) => {
      for (const [id, timer] of [...timers]) if (timer.ms <= ms && timers.delete(id)) timer.run();
    },
  };
}

/** What was drawn, and a drawing to hand over. */
function drawing() {
  const done = [];
  return { done, draw: (name) => () => done.push(name) };
}

test('what no finger asked for is drawn at once', async () => {
  const { drawLater } = await page();
  const { done, draw } = drawing();
  drawLater(draw('row'));
  assert.deepEqual(done, ['row']);
});

test('what a tap asks for is drawn when the frame that shows it is out', async () => {
  for (const touch of ['click', 'submit']) {
    const { drawLater, hear, frame, pass } = await page();
    const { done, draw } = drawing();
    hear(touch);
    drawLater(draw('row'));
    assert.deepEqual(done, [], touch);
    frame();
    assert.deepEqual(done, [], touch);
    pass(0);
    assert.deepEqual(done, ['row'], touch);
  }
});

test('a key or a tap that comes before the frame finds drawn what the tap before it asked for', async () => {
  for (const next of ['keydown', 'beforeinput', 'click', 'pointerdown', 'submit']) {
    const { drawLater, hear, frame, pass } = await page();
    const { done, draw } = drawing();
    hear('click');
    drawLater(draw('typed'));
    hear(next);
    assert.deepEqual(done, ['typed'], next);
    frame();
    pass(0);
    assert.deepEqual(done, ['typed'], `${next}: and it is not drawn twice`);
  }
});

test('a drawing that fails takes no other with it', async () => {
  const { drawLater, hear, frame, pass } = await page();
  const { done, draw } = drawing();
  hear('click');
  drawLater(() => {
    throw new Error('a screen that broke');
  });
  drawLater(draw('row'));
  frame();
  assert.throws(() => pass(0), /a screen that broke/);
  pass(0);
  assert.deepEqual(done, ['row']);
});

test('once the frame is out, drawings are at once again', async () => {
  const { drawLater, hear, frame, pass } = await page();
  const { done, draw } = drawing();
  hear('click');
  frame();
  pass(0);
  drawLater(draw('later'));
  assert.deepEqual(done, ['later']);
});

test('a page that nobody sees, which gets no frames, draws all the same', async () => {
  const { drawLater, hear, pass } = await page();
  const { done, draw } = drawing();
  hear('click');
  drawLater(draw('row'));
  pass(200);
  assert.deepEqual(done, ['row']);
});

test('work that waits for the frame is done once, after it, in the order it was asked for', async () => {
  const { drawLater, afterPaint, hear, frame, pass } = await page();
  const { done, draw } = drawing();
  hear('click');
  drawLater(draw('drawn'));
  afterPaint(draw('gone on'));
  frame();
  pass(0);
  pass(200);
  assert.deepEqual(done, ['drawn', 'gone on']);
});

test('work that no finger asked for does not wait', async () => {
  const { afterPaint } = await page();
  const { done, draw } = drawing();
  afterPaint(draw('gone on'));
  assert.deepEqual(done, ['gone on']);
});

test('what is typed is drawn at once, and no drawing comes between a letter and who hears of it', async () => {
  const { drawLater, hear } = await page();
  const { done, draw } = drawing();
  hear('input');
  drawLater(draw('typed'));
  assert.deepEqual(done, ['typed']);
  hear('click');
  drawLater(draw('tapped'));
  hear('input');
  assert.deepEqual(done, ['typed'], 'drawn now, the field would show what it held before the letter');
});
