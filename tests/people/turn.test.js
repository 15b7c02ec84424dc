// Ten people at one gate at seven in the morning: the page asks again by itself, as the server says, and not for ever.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { inTurn, watchTurn } from '../../pwa/store/turn.js';

/** @param {number} status @param {string} code @param {string} [after] */
const answer = (status, code, after) =>
  new Response(JSON.stringify({ code }), { status, headers: after ? { 'Retry-After': after } : {} });

/** Asks, with a clock that only counts. @param {Array<() => Response>} answers the last one again and again @param {AbortSignal} [signal] */
async function asked(answers, signal) {
  const told = { asks: 0, paused: /** @type {number[]} */ ([]), code: '', status: 0 };
  const ask = async () => answers[Math.min(told.asks++, answers.length - 1)]();
  const pause = async (/** @type {number} */ ms) => {
    told.paused.push(ms);
  };
  const got = await inTurn(ask, { pause, random: () => 0.5, signal });
  told.status = got.status;
  told.code = (await got.json()).code;
  return told;
}

const busy = () => answer(503, 'passwords-busy', '2');
const inAtLast = () => answer(200, 'in');

test('who is told to come again comes again by itself, as long after as it was told, and a part of a second apart', async () => {
  const told = await asked([busy, busy, inAtLast]);
  assert.deepEqual(told, { asks: 3, paused: [2500, 2500], code: 'in', status: 200 });
});

test('the proxy that slows down is heeded in the same way', async () => {
  const told = await asked([() => answer(429, 'proxy-429', '5'), inAtLast]);
  assert.deepEqual(told, { asks: 2, paused: [5500], code: 'in', status: 200 });
});

test('it asks twelve times at most and waits ten seconds at most each time: then the refusal is shown', async () => {
  const told = await asked([() => answer(503, 'passwords-busy', '3600')]);
  assert.equal(told.asks, 12);
  assert.deepEqual(new Set(told.paused), new Set([10_500]));
  assert.deepEqual([told.status, told.code], [503, 'passwords-busy']);
});

for (const [status, code] of /** @type {Array<[number, string]>} */ ([
  [429, 'sign-in-too-often'],
  [503, 'database-busy'],
  [401, 'sign-in-refused'],
  [200, 'passwords-busy'],
]))
  test(`${status} ${code} is an answer: nothing is asked again`, async () => {
    const told = await asked([() => answer(status, code, '2'), inAtLast]);
    assert.deepEqual(told, { asks: 1, paused: [], code, status });
  });

test('an answer that is no JSON is an answer', async () => {
  const got = await inTurn(async () => new Response('<h1>Away</h1>', { status: 503 }));
  assert.equal(await got.text(), '<h1>Away</h1>');
});

test('the page says that it waits, for as long as it does, whoever else waits', async () => {
  /** @type {boolean[]} */
  const heard = [];
  const end = watchTurn((waiting) => heard.push(waiting));
  await Promise.all([asked([busy, inAtLast]), asked([inAtLast])]);
  end();
  await asked([busy, inAtLast]);
  assert.deepEqual(heard, [false, true, false]);
});

test('what is called off meanwhile is asked no more', async () => {
  const off = new AbortController();
  off.abort();
  await assert.rejects(asked([busy, inAtLast], off.signal), { name: 'AbortError' });
});
