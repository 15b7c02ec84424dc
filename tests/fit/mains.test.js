// Which world's mains a group hangs on, and whether lamp watts can be taken: the cases of tests/vectors, shared with the server.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { lampWattsDoubt, mainsHz } from '../../pwa/rules/gear/mains.js';

const { cases } = JSON.parse(readFileSync(new URL('../vectors/mains.json', import.meta.url), 'utf8'));

for (const each of cases) {
  test(each.name, () => {
    const found =
      each.rule === 'mains_hz'
        ? mainsHz(each.supply, each.ballast, each.settings)
        : lampWattsDoubt(each.lamps, each.ballast, each.hertz ?? undefined);
    assert.equal(found ?? null, each.expect);
  });
}
