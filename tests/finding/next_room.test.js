// What comes next in the walk; which places a role has; what others have entered.

import assert from 'node:assert/strict';
import test from 'node:test';
import { newsOf, together } from '../../pwa/views/finding/news.js';
import { barOf, DESK, forRole, HERE, destinationAt } from '../../pwa/views/parts/destinations.js';
import { alongTheWalk, isFinished, nextRoom } from '../../pwa/views/surveying/next_room.js';

/** @param {string} id @param {string} [progress] @param {string} [parent] */
const room = (id, progress, parent = 'f1') =>
  /** @type {RecordView<'room'>} */ (
    /** @type {unknown} */ ({ id, type: 'room', parent, facets: progress ? { progress: { progress } } : {} })
  );
/** @param {string} id */
const floor = (id) => /** @type {RecordView<'floor'>} */ (/** @type {unknown} */ ({ id, type: 'floor' }));

test('the walk goes floor by floor', () => {
  const walk = alongTheWalk([floor('f1'), floor('f2')], [room('c', 'open', 'f2'), room('a'), room('b')]);
  assert.deepEqual(
    walk.map(({ id }) => id),
    ['a', 'b', 'c'],
  );
});

test('one goes on in the room where one was, while it is not finished', () => {
  const walk = [room('a'), room('b', 'open'), room('c')];
  assert.equal(nextRoom(walk, 'b')?.id, 'b');
});

test('from a finished room one goes to the next that is left, and from the last to the first', () => {
  const walk = [room('a', 'open'), room('b', 'surveyed'), room('c', 'no-access'), room('d')];
  assert.equal(nextRoom(walk, 'b')?.id, 'd');
  assert.equal(nextRoom([room('a', 'open'), room('b', 'surveyed')], 'b')?.id, 'a');
});

test('nobody was anywhere: the first room that is left comes first', () => {
  assert.equal(nextRoom([room('a', 'surveyed'), room('b')], null)?.id, 'b');
  assert.equal(nextRoom([room('a', 'surveyed')], 'gone'), null);
  assert.equal(nextRoom([], null), null);
});

test('a room with nothing to convert, or without access, is finished; an open or unvisited one is not', () => {
  assert.deepEqual(
    ['surveyed', 'nothing-to-convert', 'no-access', 'open', undefined].map((progress) =>
      isFinished(room('a', progress)),
    ),
    [true, true, true, false, false],
  );
});

test('no bar has more than five places, and each role finds its home, the search and all others in it', () => {
  for (const role of ['surveyor', 'crew', 'manager', 'owner', 'none']) {
    const ids = barOf(role).map(({ id }) => id);
    assert.ok(ids.length >= 4 && ids.length <= 5, role);
    for (const id of ['home', 'find', 'more']) assert.ok(ids.includes(id), `${role} ${id}`);
  }
});

test('the crew is led to no place that it may not see', () => {
  const places = forRole([...HERE, ...DESK.flatMap(([, each]) => each)], 'crew').map(({ id }) => id);
  for (const id of ['money', 'catalogue', 'figures', 'conflicts', 'open-points'])
    assert.ok(!places.includes(id), id);
});

test('an address lies in the place that it begins with, home in nothing but itself', () => {
  const at = (/** @type {string} */ path) => destinationAt(barOf('manager'), 'x', `/s/x${path}`);
  assert.equal(at(''), 'home');
  assert.equal(at('/'), 'home');
  assert.equal(at('/desk/plan'), 'desk');
  assert.equal(at('/desktop'), null);
  assert.equal(at('/room/1'), null);
  const atTheDesk = DESK.flatMap(([, each]) => each);
  assert.equal(destinationAt(atTheDesk, 'x', '/s/x/desk/delete'), 'settings');
});

test('news are what others entered after a time', () => {
  const entry = /** @type {RecordView} */ (
    /** @type {unknown} */ ({
      at: { identity: '2026-03-01T10:00:00Z', count: '2026-03-02T10:00:00Z', duty: '2026-03-03T10:00:00Z' },
      by: { identity: 'mara', count: 'mara', duty: 'me' },
    })
  );
  const news = newsOf(entry, '2026-03-01T12:00:00Z', 'me');
  assert.deepEqual(news, { entries: 1, people: new Set(['mara']), newest: '2026-03-02T10:00:00Z' });
  assert.equal(newsOf(entry, '2026-04-01T00:00:00Z', 'me'), null);
  const both = together(news ?? undefined, {
    entries: 2,
    people: new Set(['joss']),
    newest: '2026-03-01T00:00:00Z',
  });
  assert.deepEqual(both, { entries: 3, people: new Set(['mara', 'joss']), newest: '2026-03-02T10:00:00Z' });
});
