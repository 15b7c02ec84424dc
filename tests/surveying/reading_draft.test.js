// A reading while it is typed: keys and ruler, what is saved of it, which fixture comes next, what the drawing shows.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { afterKey, partsOf, placeOnRuler, withFraction } from '../../pwa/views/inputs/tape_text.js';
import { positionsOf } from '../../pwa/rules/survey.js';
import { withFieldTypes } from '../../pwa/store/tables.js';
import { confirmedDraft, draftOf, nextPosition, savesOf } from '../../pwa/views/measuring/reading_draft.js';

const spec = withFieldTypes(
  JSON.parse(readFileSync(new URL('../../server/spanwalk/spec/records.json', import.meta.url), 'utf8')),
);
const { fields } = spec.records.cavity_reading.facets.identity;
const typed = {
  id: 'reading',
  group: 'group',
  text: '47 1/4',
  units: /** @type {const} */ ('in'),
  usual: /** @type {const} */ ('in'),
  place: { position: 1, row: 1, cavity: 1 },
  tape: { instrument: 'us-tape', graduation: '1-16-in' },
};

test('keys write a length from its whole inches to its fraction', () => {
  const text = ['4', '5', ' ', '3', '/', '1', '6'].reduce((so, key) => afterKey(so, key, false), '');
  assert.equal(text, '45 3/16');
  assert.equal(afterKey(text, 'back', false), '45 3/1');
});

test('a fraction from the ruler is taken back whole, and a digit after it begins the next length', () => {
  assert.equal(withFraction('45', 4, 16), '45 1/4');
  assert.equal(withFraction('45 1/4', 0, 16), '45');
  assert.equal(withFraction('', 3, 16), '3/16');
  assert.equal(withFraction('45 3/', 5, 16), '45 5/16');
  assert.equal(afterKey('45 1/4', 'back', true), '45');
  assert.equal(afterKey('45 1/4', '4', true), '4');
});

test('the ruler stands where the text stands, on tapes of any division', () => {
  assert.equal(placeOnRuler('45 3/16', partsOf('1-16-in')), 3);
  assert.equal(placeOnRuler('45 1/4', partsOf('1-64-in')), 16);
  assert.equal(placeOnRuler('45 3/32', partsOf('1-16-in')), 0);
  assert.equal(placeOnRuler('45', 16), 0);
});

test('a draft is what is saved, with the verdict that was shown and of how many readings', () => {
  const { record } = draftOf(typed, fields);
  const told = { best: 0, fits: [{ verdict: 'tight', bars: ['bar'] }] };
  const voided = { facets: { voided: { reason: 'wrong row' } } };
  const saves = savesOf(confirmedDraft(record), told, [voided, { facets: {} }]);
  assert.deepEqual(
    saves.map(({ facet }) => facet),
    ['identity', 'confirmed'],
  );
  assert.equal(saves[0].value.length_ticks, 47 * 8128 + 2032);
  assert.equal(saves[0].value.as_entered, '47 1/4');
  assert.deepEqual(saves[0].value.verdict_seen, { verdict: 'tight', n: 2, bars: ['bar'] });
  assert.ok(!('from_hook' in saves[0].value));
});

test('millimetres on a site with inches are saved as such, so that nobody reads them as inches', () => {
  const bare = draftOf({ ...typed, text: '1200.2', units: 'mm' }, fields).record;
  assert.equal(bare.facets.identity.as_entered, '1200.2 mm');
  const named = draftOf({ ...typed, text: '1200.2 mm' }, fields).record;
  assert.equal(named.facets.identity.as_entered, '1200.2 mm');
});

test('what is no length, no fixture or out of all reason is a problem and no draft', () => {
  for (const [change, code] of [
    [{ text: '47 1/3' }, 'length.not-on-a-tape'],
    [{ text: '3' }, 'field.too-small-length'],
    [{ place: { position: null, row: 1, cavity: 1 } }, 'field.missing'],
    [{ place: { position: 10000, row: 1, cavity: 1 } }, 'field.too-large'],
  ]) {
    const { record, problem } = draftOf({ ...typed, ...change }, fields);
    assert.equal(record, undefined);
    assert.equal(problem?.code, code);
  }
});

test('the next fixture is the next without a reading; positions that are gone are not offered', () => {
  const group = { facets: { count: { count: 4, gone: [2] } } };
  assert.deepEqual(positionsOf(group), [1, 3, 4, 5]);
  const read = [{ facets: { identity: { position: 3, row: 1, cavity: 1 } } }];
  assert.equal(nextPosition(group, read, { position: 1, row: 1, cavity: 1 }), 4);
  assert.equal(nextPosition(group, read, { position: 5, row: 1, cavity: 1 }), 1);
  assert.equal(nextPosition(group, read, { position: 1, row: 2, cavity: 1 }), 3);
});
