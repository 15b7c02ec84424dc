// Random histories of phones on a server in memory. The same run against the real server: test_phones_on_a_real_server.py.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { FakeServer } from './support/fake_server.js';
import { History } from './support/history.js';
import { SITE } from './support/phone.js';

const HISTORIES = Number(process.env.HISTORIES ?? 15);
const FIRST_SEED = Number(process.env.SEED ?? 1);

test('in any history of three phones every ticked value is current, superseded by one who saw it, or in a conflict', async () => {
  for (let seed = FIRST_SEED; seed < FIRST_SEED + HISTORIES; seed++) {
    const server = new FakeServer();
    const people = ['a', 'b', 'c'].map((letter) => ({ person: `00000000-0000-4000-8000-00000000000${letter}`, fetch: server.fetch }));
    const history = await new History({ seed, people, site: SITE, base: 'http://fake' }).run(120);
    assert.deepEqual(await history.wrong(), [], `seed ${seed}`);
  }
});
