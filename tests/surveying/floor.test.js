// A floor in one flow: which questions a new kind is asked, how its lamps are drawn, where a number leads, what a count lacks.

import assert from 'node:assert/strict';
import test from 'node:test';
import { wrongCount } from '../../pwa/views/surveying/count_here.js';
import { answered, questionsFor } from '../../pwa/views/surveying/describe_kind.js';
import { roomsAt } from '../../pwa/views/surveying/jump.js';
import { drawnLamps } from '../../pwa/views/surveying/kind_drawing.js';

const fields = (described) => questionsFor(described).map(({ field }) => field);

test('nothing is asked of a lens that is not there, nor of lamps that are not', () => {
  assert.ok(!fields({ housing: { optic: 'none' } }).includes('optic_state'));
  assert.ok(fields({ housing: { optic: 'louvre' } }).includes('optic_state'));
  assert.deepEqual(
    fields({ lamps: { fitted: 'built-in-led' } }).filter((field) => field !== 'fitted'),
    ['body', 'optic', 'magnet_holds', 'alike'],
  );
});

test('an answer stands beside those before it, and none at all takes it back', () => {
  const described = answered(
    { lamps: { fitted: 'fluorescent' } },
    { facet: 'lamps', field: 'diameter' },
    'T8',
  );
  assert.deepEqual(described.lamps, { fitted: 'fluorescent', diameter: 'T8' });
  assert.deepEqual(answered(described, { facet: 'lamps', field: 'diameter' }, undefined).lamps, {
    fitted: 'fluorescent',
  });
});

// T8 is eight eighths of an inch thick, T5 five; 8 ft is twice as long as 4 ft. Names of lamps: IEC 60081 and the trade.
test('all kinds are drawn to one scale, in length and in diameter', () => {
  const [t5, t8] = ['T5', 'T8'].map((diameter) => drawnLamps({ diameter, nominal_ft: '4-ft' }));
  assert.ok(Math.abs(t8.thick / t5.thick - 8 / 5) < 1e-9);
  const long = drawnLamps({ diameter: 'T8', nominal_ft: '8-ft' });
  const length = ({ lines: [{ x1, x2 }] }) => x2 - x1;
  assert.equal(length(long), 2 * length(t8));
  assert.equal(
    drawnLamps({ diameter: 'T8', nominal_ft: '2-ft', rows: 3, lamps_end_to_end: 2 }).lines.length,
    6,
  );
});

test('what nobody has seen of its lamps is not drawn as if somebody had', () => {
  assert.equal(drawnLamps({}), null);
  assert.equal(drawnLamps({ diameter: 'not-seen', nominal_ft: '4-ft' }), null);
});

test('a number leads to that very room first, then to those that begin with it', () => {
  const walk = ['1201', '120', '12', '206'].map((number) => ({
    id: number,
    facets: { identity: { number } },
  }));
  assert.deepEqual(
    roomsAt(walk, ' 12 ').map(({ id }) => id),
    ['12', '1201', '120'],
  );
  assert.deepEqual(roomsAt(walk, ''), []);
});

test('a count that cannot be is named', () => {
  assert.equal(wrongCount(null, 1, 2000).code, 'field.missing');
  assert.equal(wrongCount(0, 1, 2000).code, 'field.too-small');
  assert.equal(wrongCount(1, 1, 2000), null);
  assert.equal(wrongCount(2000, 1, 2000), null);
  assert.equal(wrongCount(2001, 1, 2000).code, 'field.too-large');
});
