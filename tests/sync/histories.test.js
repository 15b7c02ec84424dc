// Random histories of phones on a server in memory. The same run against the real server: test_phones_on_a_real_server.py.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { FakeServer } from './support/fake_server.js';
import { History } from './support/history.js';
import { SITE } from './support/phone.js';

const HISTORIES = Number(process.env.HISTORIES ?? 15);
const FIRST_SEED = Number(process.env.SEED ?? 1);

/** What the proxy of the real runs does to messages, without a network. */
class Post {
  constructor() {
    /** @type {any[]} */
    this.late = [];
  }

  through(honest) {
    return async (address, request) => {
      const { 'x-fault': fault, 'x-fault-at': at } = request.headers ?? {};
      if (fault === 'late') this.late.push(() => honest(address, request));
      if (['lost', 'late', 'request-cut'].includes(fault)) throw new TypeError('fetch failed');
      if (fault === 'doubled') await honest(address, request);
      const answer = await honest(address, request);
      if (fault === 'answer-lost') throw new TypeError('fetch failed');
      if (fault !== 'cut') return answer;
      const text = await answer.text();
      return new Response(text.slice(0, Math.floor(text.length * Number(at))), { status: answer.status });
    };
  }

  async deliver(place) {
    const [send] = this.late.splice(place, 1);
    await send();
  }
}

test('in any history of three phones every ticked value is current, superseded by one who saw it, or in a conflict', async () => {
  for (let seed = FIRST_SEED; seed < FIRST_SEED + HISTORIES; seed++) {
    const server = new FakeServer();
    const post = new Post();
    const people = ['a', 'b', 'c'].map((letter) => ({
      person: `00000000-0000-4000-8000-00000000000${letter}`,
    }));
    const history = new History({
      seed,
      people,
      network: () => post.through(server.fetch),
      site: SITE,
      base: 'http://fake',
      post,
    });
    await history.run(120);
    assert.deepEqual(await history.wrong(), [], `seed ${seed}`);
  }
});
