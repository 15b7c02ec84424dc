// Finding on a site: by words, by room and kind together, by a label's code, by the position of one fixture.

import assert from 'node:assert/strict';
import test from 'node:test';
import { plain, positionIn, rank, WHOLE, wordsOf } from '../../pwa/views/finding/matching.js';
import { SiteIndex } from '../../pwa/views/finding/site_index.js';

/** @param {string} type @param {string} id @param {string | null} parent @param {Record<string, Value>} facets @param {boolean} [removed] */
const record = (type, id, parent, facets, removed = false) =>
  /** @type {RecordView} */ (/** @type {unknown} */ ({ id, type, parent, removed, facets, conflicts: [] }));

const RECORDS = [
  record('floor', 'f2', 's', { identity: { name: 'Level 2' } }),
  record('room', 'r1', 'f2', { identity: { number: '206', name: 'Büro Ost' } }),
  record('room', 'r2', 'f2', { identity: { number: '1206', name: 'Archive' } }),
  record('room', 'gone', 'f2', { identity: { number: '206', name: 'Old' } }, true),
  record('kind', 'k1', 's', { identity: { mark: 'K1', title: 'recessed troffer' } }),
  record('group', 'g1', 'r1', {
    identity: { kind: 'k1', note: 'by the window' },
    count: { count: 4, gone: [2] },
  }),
  record('label', 'l1', 's', {
    identity: { code: '2YMAV64G' },
    binding: { group: 'g1', position: 3 },
  }),
  record('label', 'l2', 's', {
    identity: { code: '2YMAVOID' },
    binding: { group: 'g1', position: 4 },
    voided: { reason: 'torn' },
  }),
];

/** @param {string} query @param {RecordView[]} [records] */
function found(query, records = RECORDS) {
  const index = new SiteIndex();
  for (const each of records) index.add(each);
  return [...index.find(query)].flat();
}

test('letters are compared without accents and case', () => {
  assert.equal(plain('BÜRO'), 'buro');
  assert.deepEqual(wordsOf('K1, by-the window'), ['k1', 'by', 'the', 'window']);
});

test('every word of a query must stand in a line, and a whole word is the best', () => {
  assert.equal(rank(['206'], ['206', 'buro']), WHOLE);
  assert.ok(rank(['bu'], ['206', 'buro']) > WHOLE);
  assert.ok(rank(['uro'], ['206', 'buro']) > rank(['bu'], ['206', 'buro']));
  assert.equal(rank(['206', 'x'], ['206', 'buro']), -1);
  assert.equal(rank([], ['206']), -1);
});

test('a position is a number behind words of the line, and no word of it', () => {
  assert.equal(positionIn(['206', 'k1', '3'], ['206', 'k1']), 3);
  assert.equal(positionIn(['206', 'k1', '2'], ['206', 'k1']), 2, 'a digit of the room is no position of it');
  assert.equal(positionIn(['k1', '206'], ['206', 'k1']), null);
  assert.equal(positionIn(['3'], ['206']), null);
  assert.equal(positionIn(['206', 'x', '3'], ['206']), null);
});

test('a room is found by its number, its name, or the two together with its floor; a removed one is not', () => {
  const paths = (/** @type {string} */ query) => found(query).map(({ path }) => path);
  assert.deepEqual(paths('206'), ['/room/r1', '/room/r2']);
  assert.equal(found('206')[0].rank, WHOLE);
  assert.deepEqual(paths('buro'), ['/room/r1']);
  assert.deepEqual(paths('level 2 archive'), ['/room/r2']);
  assert.deepEqual(paths('old'), []);
});

test('a kind is found by its mark and its words, and does not bring all its groups with it', () => {
  assert.deepEqual(
    found('troffer').map(({ about, path }) => [about, path]),
    [['kind', '/kind/k1']],
  );
});

test('a group is found by its room and its kind together, or by its note', () => {
  assert.deepEqual(
    found('206 k1').map(({ about, path }) => [about, path]),
    [['fixture', '/group/g1']],
  );
  assert.deepEqual(
    found('window').map(({ path }) => path),
    ['/group/g1'],
  );
});

test('one fixture is found by room, kind and a position that is there', () => {
  assert.deepEqual(
    found('206 k1 3').map(({ path, title }) => [path, title]),
    [['/fixture/g1/3', 'K1 recessed troffer · 3']],
  );
  assert.deepEqual(
    found('206 k1 2').map(({ path }) => path),
    ['/group/g1'],
    'position 2 is gone',
  );
  assert.equal(found('206 k1 5')[0].path, '/fixture/g1/5', 'four are left of five');
  assert.deepEqual(found('206 k1 7'), []);
});

test('a label is found by the beginning of its code, as people type it, unless it is void', () => {
  for (const query of ['2YM', '2ym av64g', '2YMA-V64G'])
    assert.deepEqual(
      found(query).map(({ about, path }) => [about, path]),
      [['label', '/fixture/g1/3?code=2YMAV64G']],
      query,
    );
  assert.deepEqual(found('2Y'), [], 'two letters are too few for a code');
});

test('a site of 20,000 groups is looked through in handfuls, and loses none', () => {
  const many = [...RECORDS];
  for (let at = 0; at < 20_000; at += 1)
    many.push(
      record('group', `n${at}`, 'r2', { identity: { kind: 'k1', note: `row ${at} x` }, count: { count: 1 } }),
    );
  const index = new SiteIndex();
  for (const each of many) index.add(each);
  const handfuls = [...index.find('archive row')];
  assert.ok(handfuls.length > 10, 'the screen has its turn between them');
  assert.equal(handfuls.flat().length, 20_000);
});
