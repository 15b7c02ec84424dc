// When a sync runs, with a clock and a chance of our own: after a save, with back-off, one at a time, never without a session.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Engine } from '../../pwa/sync/engine.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone } from './support/phone.js';

/** A clock that is moved by hand, and locks as a browser has them. */
function surroundings() {
  const around = { at: 0, timers: new Map(), next: 1, held: new Set() };
  return Object.assign(around, {
    now: () => around.at,
    setTimer: (run, ms) => {
      around.timers.set(around.next, { run, at: around.at + ms });
      return around.next++;
    },
    clearTimer: (timer) => around.timers.delete(timer),
    chance: () => 1,
    locks: {
      request: async (name, _options, run) => {
        if (around.held.has(name)) return run(null);
        around.held.add(name);
        try {
          return await run({ name });
        } finally {
          around.held.delete(name);
        }
      },
    },
    /** Seconds until the next timer. */
    due: () => Math.min(...[...around.timers.values()].map((timer) => timer.at - around.at)) / 1000,
    async pass(seconds) {
      around.at += seconds * 1000;
      const due = [...around.timers].filter(([, timer]) => timer.at <= around.at);
      for (const [id, timer] of due) {
        around.timers.delete(id);
        await timer.run();
      }
    },
  });
}

async function running() {
  const server = new FakeServer();
  const phone = await newPhone(server);
  const around = surroundings();
  const statuses = [];
  const engine = new Engine(phone.storage, phone.transport, {
    surroundings: around,
    onStatus: (status) => statuses.push(status),
  });
  await engine.begin();
  await around.pass(1);
  return { server, phone, around, engine, statuses };
}

test('a save goes out soon after, and the line tells each step', async () => {
  const { server, phone, around, engine, statuses } = await running();
  statuses.length = 0;
  await phone.room();
  await engine.tell('saved');
  assert.equal(around.due(), 0.5);
  await around.pass(0.5);
  assert.equal(server.records.size, 2);
  const steps = statuses.map(({ state, unsent }) => `${state} ${unsent}`);
  assert.deepEqual([...new Set(steps)].slice(0, 2), ['unsent 2', 'sending 2']);
  assert.equal(steps.at(-1), 'sent 0');
});

test('without an answer it tries again ever more rarely, and says when', async () => {
  const { server, phone, around, engine } = await running();
  await phone.room();
  server.faults = Array(9).fill('lost');
  await engine.tell('saved');
  const waits = [];
  for (let n = 0; n < 5; n++) {
    await around.pass(around.due());
    waits.push(around.due());
    assert.equal(engine.status.nextTry, around.now() + around.due() * 1000);
  }
  assert.deepEqual(waits, [2, 4, 8, 16, 32]);
  assert.equal(engine.status.state, 'offline');
  assert.equal(engine.status.unsent, 2);
  assert.equal(engine.status.why, 'network-lost');
});

test('the network coming back does not wait for the timer, and back-off starts anew', async () => {
  const { server, phone, around, engine } = await running();
  await phone.room();
  server.faults = Array(4).fill('lost');
  await engine.tell('saved');
  for (let n = 0; n < 4; n++) await around.pass(around.due());
  await engine.tell('network-back');
  assert.equal(around.due(), 0.5);
  await around.pass(0.5);
  assert.equal(engine.status.state, 'sent');
  assert.equal(engine.failures, 0);
});

test('a server that answers 503 is left alone as long as it asks', async () => {
  const { phone, around, engine } = await running();
  phone.transport.fetch = async () =>
    Response.json({ code: 'database-busy' }, { status: 503, headers: { 'Retry-After': '30' } });
  await engine.tell('tried');
  await around.pass(0.5);
  assert.equal(engine.status.state, 'failing');
  assert.equal(engine.status.why, 'database-busy');
  assert.equal(around.due(), 30);
});

test('an ended session stops the network, not the work; signing in again sends it', async () => {
  const { server, phone, around, engine } = await running();
  server.signedIn = false;
  await phone.room();
  await engine.tell('saved');
  await around.pass(0.5);
  assert.equal(engine.status.state, 'signed-out');
  const before = server.requests.length;
  await phone.room();
  await engine.tell('saved');
  await engine.tell('woken');
  await around.pass(600);
  await engine.run();
  assert.equal(server.requests.length, before);
  assert.equal(engine.status.unsent, 4);
  server.signedIn = true;
  await engine.tell('signed-in');
  await around.pass(0.5);
  assert.equal(engine.status.state, 'sent');
  assert.equal(server.records.size, 4);
});

test('two tabs do not sync at once; the one that may not looks again later', async () => {
  const { phone, around, engine } = await running();
  const other = new Engine(phone.storage, phone.transport, { surroundings: around });
  await phone.room();
  let inside = 0;
  let most = 0;
  const honest = phone.transport.fetch;
  phone.transport.fetch = async (...args) => {
    most = Math.max(most, ++inside);
    const answer = await honest(...args);
    inside -= 1;
    return answer;
  };
  await Promise.all([engine.run(), other.run()]);
  assert.equal(most, 1);
  assert.equal(engine.status.state, 'sent');
  await other.adopt(engine.status);
  assert.equal(other.status.state, 'sent');
});

test('what is saved while a sync runs goes out with the next one', async () => {
  const { server, phone, engine } = await running();
  await phone.room('first');
  const honest = phone.transport.fetch;
  let saved = false;
  phone.transport.fetch = async (...args) => {
    const answer = await honest(...args);
    if (!saved) {
      saved = true;
      await phone.room('second');
      await engine.tell('saved');
    }
    return answer;
  };
  await engine.run();
  await engine.run();
  assert.equal(server.records.size, 4);
});

test('a refused operation asks for attention and does not stop the rest', async () => {
  const { server, phone, around, engine } = await running();
  server.refuses = (op) => (op.type === 'floor' ? { code: 'x', facts: {} } : null);
  await phone.room();
  await engine.tell('saved');
  await around.pass(0.5);
  assert.deepEqual(
    [engine.status.state, engine.status.attention, engine.status.unsent],
    ['needs-attention', 1, 0],
  );
});

/** One verb of a phone's storage finds no room. @returns what makes room again */
async function noRoomIn(storage, verb) {
  const { NotSaved } = await import('../../pwa/storage/connection.js');
  const honest = storage[verb];
  storage[verb] = async () => {
    throw new NotSaved('storage-full', new Error('full'));
  };
  return () => {
    storage[verb] = honest;
  };
}

test('storage that fails during a sync is told as such, and tried again', async () => {
  const { phone, around, engine } = await running();
  await phone.room();
  const free = await noRoomIn(phone.storage, 'markSent');
  await engine.run();
  assert.deepEqual([engine.status.state, engine.status.why], ['storage-failing', 'storage-full']);
  free();
  await engine.tell('storage-works');
  await around.pass(0.5);
  assert.equal(engine.status.state, 'sent');
});

test('a sync that found no room says so until one ends well, without a save', async () => {
  const { phone, around, engine } = await running();
  await phone.room();
  const free = await noRoomIn(phone.storage, 'markSent');
  await engine.run();
  await engine.run();
  assert.equal(engine.status.state, 'storage-failing');
  free();
  await around.pass(around.due());
  assert.deepEqual([engine.status.state, engine.status.why], ['sent', null]);
});

test('what was typed and not saved is said to be so however well a sync ends', async () => {
  const { phone, around, engine } = await running();
  const free = await noRoomIn(phone.storage, 'noteSync');
  await engine.run();
  free();
  await engine.tell('storage-failed', { code: 'storage-full' });
  await around.pass(around.due());
  assert.equal(engine.status.state, 'storage-failing');
});

test('a phone that starts with unsent work never says that all is sent', async () => {
  const phone = await newPhone(new FakeServer());
  await phone.room();
  const statuses = [];
  const engine = new Engine(phone.storage, phone.transport, {
    surroundings: surroundings(),
    onStatus: (status) => statuses.push(status.state),
  });
  await engine.begin();
  assert.deepEqual(new Set([...statuses, engine.status.state]), new Set(['unsent']));
});

test('a phone whose storage cannot be counted says so, and not that all is sent', async () => {
  const phone = await newPhone(new FakeServer());
  phone.storage.counts = () => Promise.reject(new Error('gone'));
  const engine = new Engine(phone.storage, phone.transport, { surroundings: surroundings() });
  await engine.begin();
  assert.equal(engine.status.state, 'storage-failing');
});

test('what is saved while a sync is past the sending goes when a sync is asked for, and that is waited for', async () => {
  const { server, phone, engine } = await running();
  let pulled;
  const first = new Promise((resolve) => {
    const fetch = phone.transport.fetch;
    phone.transport.fetch = async (...request) => {
      if (String(request[0]).includes('/pull') && !pulled) {
        pulled = true;
        await phone.room('saved meanwhile');
        resolve(engine.afresh());
      }
      return fetch(...request);
    };
  });
  engine.run();
  await await first;
  assert.equal((await phone.storage.counts()).operations, 0);
  assert.equal(server.records.size, 2);
});

test('what is saved is in the status before the save resolves, exactly, whatever count of the disk runs beside it', async () => {
  const { phone, engine } = await running();
  const counts = phone.storage.counts.bind(phone.storage);
  const { promise: gate, resolve: open } = Promise.withResolvers();
  const { promise: read, resolve: isRead } = Promise.withResolvers();
  // A count that was read before the saves, and arrives after them.
  phone.storage.counts = async () => {
    const before = await counts();
    isRead();
    await gate;
    return before;
  };
  const told = engine.tell('woken');
  await read;
  const { room: id } = await phone.room();
  assert.deepEqual([engine.status.state, engine.status.unsent], ['unsent', (await counts()).operations]);
  open();
  await told;
  assert.equal(
    engine.status.unsent,
    (await counts()).operations,
    'the late count has not taken the save away',
  );
  phone.storage.counts = counts;
  for (const name of ['Hall', 'Hallway', 'Hall']) {
    const { seen } = await phone.storage.get(id);
    const value = { ...(await phone.storage.get(id)).facets.identity, name };
    await phone.storage.save([{ record: id, type: 'room', facet: 'identity', value, seen: seen.identity }]);
    assert.equal(engine.status.unsent, (await counts()).operations, 'what is rewritten is not counted twice');
  }
  await phone.storage.undo();
  assert.equal(
    engine.status.unsent,
    (await counts()).operations,
    'what is taken back is counted as the disk counts it',
  );
});

test('another tab that says all is sent does not say it for what was saved in this one', async () => {
  const { phone, engine } = await running();
  await phone.room();
  await engine.adopt({ ...engine.status, state: 'sent', unsent: 0 });
  assert.equal(engine.status.state, 'unsent');
});

test('a phone that has nothing of a site fetches it at once, and awaits it until it is there', async () => {
  const server = new FakeServer();
  const phone = await newPhone(server);
  const around = surroundings();
  const seen = [];
  const engine = new Engine(phone.storage, phone.transport, {
    surroundings: around,
    onStatus: () => seen.push(engine.isFetching),
  });
  await engine.begin();
  assert.equal(around.due(), 0);
  assert.equal(engine.isFetching, true);
  await around.pass(0);
  assert.deepEqual([engine.heard, engine.isAwaited, engine.isFetching], [true, false, false]);
  assert.equal(seen[0], true);
  const again = new Engine(phone.storage, phone.transport, { surroundings: around });
  await again.begin();
  assert.deepEqual([again.heard, again.isFetching], [true, false]);
});

test('a first sync that fails is not awaited, and what is entered meanwhile is not hidden by waiting', async () => {
  const server = new FakeServer();
  const phone = await newPhone(server);
  const around = surroundings();
  server.faults = ['lost'];
  const engine = new Engine(phone.storage, phone.transport, { surroundings: around });
  await engine.begin();
  await around.pass(0);
  assert.deepEqual([engine.heard, engine.isAwaited, engine.isFetching], [false, false, false]);
  const other = await newPhone(server);
  await other.room();
  const waiting = new Engine(other.storage, other.transport, { surroundings: surroundings() });
  await waiting.begin();
  assert.deepEqual([waiting.isAwaited, waiting.isFetching], [true, false]);
});
