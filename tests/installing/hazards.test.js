// What would hurt whoever only reaches for a fixture is known before its card is read, and the tape's caution opens for it anew.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { hazardsOf } from '../../pwa/views/crew/hazards.js';
import { dayOf, startsOpen, tapeCaution } from '../../pwa/views/measuring/caution_of_the_day.js';

const ON_MAINS = 'plan.caution.led-tubes-on-mains';
/** @param {string[]} cautions */
const released = (cautions) => /** @type {any} */ ({ facets: { identity: { frozen: { cautions } } } });
/** @param {string} fitted */
const kind = (fitted) => /** @type {any} */ ({ facets: { lamps: { fitted } } });

test('sockets at mains stand before all else: by the card, by what was found since, and where nothing is released', () => {
  assert.deepEqual(hazardsOf({ conversion: released(['plan.caution.isolate', ON_MAINS]), kind: kind('fluorescent') }), [ON_MAINS]);
  assert.deepEqual(hazardsOf({ conversion: released([]), kind: kind('led-tube-on-mains') }), [ON_MAINS]);
  assert.deepEqual(hazardsOf({ kind: kind('led-tube-on-mains') }), [ON_MAINS]);
  assert.deepEqual(hazardsOf({ conversion: released(['plan.caution.isolate']), kind: kind('led-tube-on-own-driver') }), []);
  assert.deepEqual(hazardsOf({}), []);
});

test('the caution of the tape folds for the day, but opens anew wherever LED tubes are in the sockets', () => {
  const now = new Date(2026, 10, 29, 9);
  const today = dayOf(now);
  assert.equal(startsOpen({ fitted: 'fluorescent' }, undefined, now), true);
  assert.equal(startsOpen({ fitted: 'fluorescent' }, dayOf(new Date(2026, 10, 28)), now), true);
  assert.equal(startsOpen({ fitted: 'fluorescent' }, today, now), false);
  assert.equal(startsOpen({}, today, now), false);
  for (const fitted of ['led-tube-on-mains', 'led-tube-on-the-ballast', 'led-tube-on-own-driver'])
    assert.equal(startsOpen({ fitted }, today, now), true, fitted);
  assert.deepEqual(
    ['led-tube-on-mains', 'led-tube-on-own-driver', 'fluorescent'].map((fitted) => tapeCaution({ fitted })),
    ['readings.caution-led-on-mains', 'readings.caution-led', 'readings.caution'],
  );
});
