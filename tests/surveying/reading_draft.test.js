// A reading while it is typed: its keys, what is asked and saved of it, which fixture comes next, what the drawing shows.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { parseLength } from '../../pwa/rules/measuring/lengths.js';
import {
  afterKey,
  faceOf,
  partOf,
  partsOf,
  startOf,
  stepsOf,
  withFraction,
  withStep,
} from '../../pwa/views/inputs/tape_text.js';
import { askedAtSave } from '../../pwa/views/measuring/asked_at_save.js';
import { positionsOf } from '../../pwa/rules/survey.js';
import { withFieldTypes } from '../../pwa/store/tables.js';
import {
  confirmedDraft,
  draftOf,
  followedTape,
  nextPosition,
  savesOf,
} from '../../pwa/views/measuring/reading_draft.js';

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
  const text = ['4', '5'].reduce((so, key) => afterKey(so, key, false), '');
  assert.equal(withFraction(text, 3, 16), '45 3/16');
  assert.equal(afterKey('1147', '.', false), '1147.');
  assert.equal(afterKey('1147.8', 'back', false), '1147.');
});

test('a fraction is taken back whole, and a digit after what was brought back begins the next length', () => {
  assert.equal(withFraction('45', 4, 16), '45 1/4');
  assert.equal(withFraction('45 1/4', 0, 16), '45');
  assert.equal(withFraction('', 3, 16), '3/16');
  assert.equal(withFraction('45 3/', 5, 16), '45 5/16');
  assert.equal(afterKey('45 1/4', 'back', false), '45');
  assert.equal(afterKey('45', 'back', false), '4');
  assert.equal(afterKey('45 1/4', '4', true), '4');
});

test('the fraction that is typed is known on tapes of any division', () => {
  assert.equal(partOf('45 3/16', partsOf('1-16-in')), 3);
  assert.equal(partOf('45 1/4', partsOf('1-64-in')), 16);
  assert.equal(partOf('45 3/32', partsOf('1-16-in')), 0);
  assert.equal(partOf('45', 16), 0);
});

test('every fraction of every tape is reached in one tap or two, and in each the second is a key of its own', () => {
  const taps = [];
  for (const parts of [16, 32, 64]) {
    assert.deepEqual(stepsOf(parts), { 16: [], 32: [1], 64: [1, 2, 3] }[parts]);
    for (let part = 0; part < parts; part += 1) {
      const finer = parts / 16;
      const sixteenth = withFraction('45', Math.floor(part / finer) * finer, parts);
      const text = part % finer === 0 ? sixteenth : withStep(sixteenth, part % finer, parts);
      taps.push(part % finer === 0 ? 1 : 2);
      assert.equal(partOf(text, parts), part);
      assert.equal(parseLength(text, 'in').ticks, 45 * 8128 + (part * 8128) / parts);
    }
  }
  assert.equal(taps.length, 16 + 32 + 64);
  assert.equal(Math.max(...taps), 2);
});

test('a step between two sixteenths is changed by another, and taken off by itself', () => {
  assert.equal(withStep('45 1/4', 1, 64), '45 17/64');
  assert.equal(withStep('45 17/64', 3, 64), '45 19/64');
  assert.equal(withStep('45 19/64', 3, 64), '45 1/4');
});

test('after two digits of inches the fractions come, and never where millimetres are typed', () => {
  assert.equal(faceOf('', 'in', null), 'digits');
  assert.equal(faceOf('4', 'in', null), 'digits');
  assert.equal(faceOf('47', 'in', null), 'fractions');
  assert.equal(faceOf('47 5/16', 'in', null), 'fractions');
  assert.equal(faceOf('47.', 'in', null), 'digits');
  assert.equal(faceOf('1200 mm', 'in', null), 'digits');
  assert.equal(faceOf('1200', 'mm', null), 'digits');
  assert.equal(faceOf('9', 'in', 'fractions'), 'fractions');
  assert.equal(faceOf('11', 'in', 'digits'), 'digits');
});

test('the next length probably begins as the last one did', () => {
  assert.equal(startOf('47 5/16', 'in', 'in'), '47');
  assert.equal(startOf('47 5/16', 'mm', 'in'), '');
  assert.equal(startOf('1198.5 mm', 'mm', 'in'), '119');
  assert.equal(startOf('1198', 'mm', 'mm'), '119');
  assert.equal(startOf('3\' 11"', 'in', 'in'), '');
  assert.equal(startOf('', 'in', 'in'), '');
});

test('the instrument follows the unit that was typed, and is asked for where this phone has none for it', () => {
  const inches = { instrument: 'us-tape', graduation: '1-16-in' };
  const metric = { instrument: 'tape-class-i', graduation: '1-mm' };
  assert.deepEqual(followedTape('in', inches, {}), inches);
  assert.equal(followedTape('mm', inches, {}), null);
  assert.deepEqual(followedTape('mm', inches, { mm: metric }), metric);
  assert.deepEqual(followedTape('mm', { instrument: 'gauge-goes' }, {}), { instrument: 'gauge-goes' });
  assert.deepEqual(followedTape('mm', { ...inches, graduation: '1-mm' }, {}), {
    ...inches,
    graduation: '1-mm',
  });
  const { record, unit } = draftOf({ ...typed, text: '1200.2', units: 'mm', known: { mm: metric } }, fields);
  assert.equal(unit, 'mm');
  assert.equal(record.facets.identity.instrument, 'tape-class-i');
  assert.equal(record.facets.identity.graduation, '1-mm');
});

test('what is asked at Save comes one after another: what was meant, with which tape, whether it makes sense', () => {
  const inches = { instrument: 'us-tape', graduation: '1-16-in' };
  const sense = [{ code: 'reading.started-at-1', facts: { without_ticks: 47 * 8128 + 2032 } }];
  const now = { typed: { ...typed, tape: inches }, known: {}, sense: [] };
  const meant = { code: 'length.millimetres-meant', facts: {}, ticks: 384064 };
  assert.deepEqual(askedAtSave({ ...now, read: { question: meant } }).answers, [
    { says: ['measuring.yes', { text: '1200.2 mm' }], change: { text: '1200.2 mm' } },
  ]);
  const tapes = askedAtSave({ ...now, read: { unit: 'mm' }, sense });
  assert.equal(tapes.said[0].code, 'ladder.which-tape-mm');
  assert.equal(tapes.answers.length, 3);
  const sensible = askedAtSave({ ...now, read: { unit: 'in' }, sense });
  assert.deepEqual(
    sensible.answers.map(({ change }) => change),
    [{ confirmed: true }, { text: '47 1/4' }, { left: true }],
  );
  const answered = { ...now.typed, left: true };
  assert.equal(askedAtSave({ ...now, typed: answered, read: { unit: 'in' }, sense }), null);
  assert.equal(
    askedAtSave({ ...now, typed: { ...now.typed, confirmed: true }, read: { unit: 'in' }, sense }),
    null,
  );
  assert.equal(askedAtSave({ ...now, read: { unit: 'in' } }), null);
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
