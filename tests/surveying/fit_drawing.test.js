// The drawing of a verdict: its four parts, what is green, and where the tape is held.
import assert from 'node:assert/strict';
import test from 'node:test';
import { gapOf, partsOf, verdictClass } from '../../pwa/views/parts/fit_drawing.js';
import { heldFor } from '../../pwa/views/parts/where_to_hold.js';

/** 4.0 mm wanted at the ends, 0.5 mm of tolerance, 0.7 mm for warmth. */
const terms = { end_gaps_ticks: 1280, tolerance_ticks: 160, change_ticks: 224, needed_ticks: 382144, nominal_clearance_ticks: 1952 };
const fits = { verdict: 'fits', clearance_ticks: 288, terms };
const tight = { verdict: 'tight', clearance_ticks: -320, terms };
const long = { verdict: 'too long', clearance_ticks: -12736, terms: { ...terms, nominal_clearance_ticks: -11072 } };
const sure = (degree, releasable) => ({ ...fits, degree: { degree, releasable, held_by: [], n: 1, of: 36, next: null } });

test('what is wanted at the ends is told apart from what is to spare', () => {
  assert.deepEqual(partsOf(fits), [['ends', 1280], ['spare', 288], ['warmth', 224], ['tolerance', 160], ['missing', 0]]);
});

test('the parts of one end come to the gap between the socket and the bar', () => {
  assert.equal(gapOf(fits), (1280 + 288 + 224 + 160) / 2);
  assert.equal(gapOf(tight), (1280 + 224 + 160 - 320) / 2);
});

test('what a tight bar lacks is a length that is missing, never a negative one to spare', () => {
  assert.deepEqual(partsOf(tight).slice(1, 2), [['spare', 0]]);
  assert.deepEqual(partsOf(tight).at(-1), ['missing', 320]);
});

test('a bar that is too long has no parts, and stands behind the faces by half of what it is over', () => {
  assert.equal(partsOf(long), null);
  assert.equal(gapOf(long), -5536);
});

test('without a cavity there is no gap to draw', () => {
  assert.equal(gapOf({ verdict: 'cannot tell', clearance_ticks: null, terms: { end_gaps_ticks: 1280 } }), null);
});

test('only what could be released looks like a fit', () => {
  assert.equal(verdictClass(sure('fits', true)), 'fits');
  assert.equal(verdictClass(sure('by-lamp', true)), 'fits');
  assert.equal(verdictClass(sure('by-trial', true)), 'fits');
  assert.equal(verdictClass(sure('so-far', false)), 'so-far');
  assert.equal(verdictClass(sure('cannot-tell', false)), 'unmeasured');
  assert.equal(verdictClass(sure('never', false)), 'unmeasured');
});

test('each cap says where the tape is held', () => {
  assert.equal(heldFor({ cap: 'G13' }).code, 'hold.pins');
  assert.equal(heldFor({ cap: 'G5' }).code, 'hold.pins');
  assert.equal(heldFor({ cap: 'single-pin' }).code, 'hold.single-pin');
  assert.equal(heldFor({ cap: 'recessed-contact' }).code, 'hold.recessed-contact');
  assert.equal(heldFor({}).code, 'hold.not-seen');
});
