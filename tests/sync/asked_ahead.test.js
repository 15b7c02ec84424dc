// The first pull of a phone that does not know yet who is here: asked once, and asked anew where it did not come.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { OF_NOTHING } from '../../pwa/sync/pull.js';
import { Transport } from '../../pwa/sync/transport.js';

/** @param {Array<number>} statuses of the answers, in order */
function asking(statuses) {
  const asked = [];
  const fetcher = async (address) => {
    asked.push(String(address));
    return new Response(JSON.stringify({ turn: asked.length }), { status: statuses.shift() ?? 200 });
  };
  return { asked, transport: new Transport('a', { fetch: fetcher }) };
}

test('the first pull gets what was asked ahead, and the next is asked for', async () => {
  const { asked, transport } = asking([]);
  transport.pullAhead(OF_NOTHING);
  const first = await transport.pull({ ...OF_NOTHING, device: null, scope: null });
  assert.deepEqual([first.turn, asked.length], [1, 1]);
  assert.equal((await transport.pull({ ...OF_NOTHING, device: null })).turn, 2);
  assert.equal(asked[0], '/api/sites/a/pull?since=0&limit=1000&unsent=0&unsent_photos=0');
});

test('another question than was asked ahead is asked', async () => {
  const { transport } = asking([]);
  transport.pullAhead(OF_NOTHING);
  assert.equal((await transport.pull({ ...OF_NOTHING, unsent: 3 })).turn, 2);
});

test('what was asked ahead and refused is asked as if it had not been', async () => {
  const { asked, transport } = asking([401]);
  transport.pullAhead(OF_NOTHING);
  assert.equal((await transport.pull(OF_NOTHING)).turn, 2);
  assert.equal(asked.length, 2);
});

test('what was asked before there was a transport is taken, and one that failed is asked anew', async () => {
  const { asked, transport } = asking([]);
  transport.pullAhead(OF_NOTHING, Promise.resolve(new Response('{"turn": 99}')));
  assert.equal((await transport.pull(OF_NOTHING)).turn, 99);
  assert.equal(asked.length, 0);
  transport.pullAhead(OF_NOTHING, Promise.reject(new TypeError('Failed to fetch')));
  assert.equal((await transport.pull(OF_NOTHING)).turn, 1);
});

/** Runs the script that asks before the page does, at `/s/a/room/b`, on a phone that has a database of ours or none. */
async function askedBeforeThePage(hasDatabase) {
  const asked = [];
  const looking = { result: { close: () => {} }, transaction: { abort: () => looking.onerror() } };
  const stubs = {
    askedAhead: undefined,
    location: { pathname: '/s/a/room/b' },
    fetch: async (address) => asked.push(address),
    indexedDB: { open: () => looking },
  };
  const before = Object.fromEntries(
    Object.keys(stubs).map((name) => [name, Object.getOwnPropertyDescriptor(globalThis, name)]),
  );
  for (const [name, value] of Object.entries(stubs))
    Object.defineProperty(globalThis, name, { value, configurable: true, writable: true });
  try {
    await import(`../../pwa/ask_ahead.js?${hasDatabase}`);
    if (hasDatabase) looking.onsuccess();
    else looking.onupgradeneeded();
    return { asked, ahead: await globalThis.askedAhead };
  } finally {
    for (const [name, was] of Object.entries(before)) {
      delete globalThis[name];
      if (was) Object.defineProperty(globalThis, name, was);
    }
  }
}

test('the script that asks before the page asks just what the first pull of a new phone does', async () => {
  const { asked: pulled, transport } = asking([]);
  await transport.pull(OF_NOTHING);
  const { asked, ahead } = await askedBeforeThePage(false);
  assert.deepEqual(asked, ['/api/session/if-any', ...pulled]);
  assert.equal(ahead.site, 'a');
});

test('on a phone that has been here it asks nothing', async () => {
  assert.deepEqual(await askedBeforeThePage(true), { asked: [], ahead: null });
});
