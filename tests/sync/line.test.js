// The sync line is the tables of sync/README.md: read there, held against the code cell by cell, and driven with a clock of our own.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { backOffS } from '../../pwa/sync/backoff.js';
import { Engine } from '../../pwa/sync/engine.js';
import { atRest, LINE_EVENTS, LINE_STATES, step } from '../../pwa/sync/line.js';

const README = readFileSync(new URL('../../server/spanwalk/sync/README.md', import.meta.url), 'utf8');
const WORDS = JSON.parse(
  readFileSync(new URL('../../server/spanwalk/spec/words.en/views.json', import.meta.url), 'utf8'),
);

const NOTHING = { operations: 0, photos: 0, refused: 0, recovered: 0, conflicts: 0 };
const SOME = { ...NOTHING, operations: 3, photos: 1 };
const DISPUTED = { ...SOME, conflicts: 2 };
const BAD = { ...DISPUTED, refused: 1 };
const COUNTS = [NOTHING, SOME, DISPUTED, BAD];

/** Rows of the table under a head. */
function table(...head) {
  const lines = README.split('\n');
  const at = lines.indexOf(`| ${head.join(' | ')} |`);
  assert.ok(at > 0, `no table | ${head.join(' | ')} |`);
  const rows = lines.slice(at + 2);
  return rows
    .slice(
      0,
      rows.findIndex((line) => !line.startsWith('|')),
    )
    .map((line) =>
      line
        .split('|')
        .slice(1, -1)
        .map((cell) => cell.trim()),
    );
}

const RULE = new Map(table('event', 'state', 'then').map(([event, to, then]) => [event, [to, then]]));
const OWN = new Map(
  table('state', 'event', 'state', 'then').map(([state, event, to, then]) => [
    `${state} × ${event}`,
    [to, then],
  ]),
);

function told(state, event, counts) {
  const [to, then] = OWN.get(`${state} × ${event}`) ?? RULE.get(event);
  return { state: to === 'rest' ? atRest(counts) : to === 'same' ? state : to, then };
}

test('at rest the line says what the counts say, the worst first', () => {
  assert.equal(atRest(NOTHING), 'sent');
  assert.equal(atRest(SOME), 'unsent');
  assert.equal(atRest({ ...NOTHING, photos: 1 }), 'unsent');
  assert.equal(atRest(DISPUTED), 'conflict');
  assert.equal(atRest(BAD), 'needs-attention');
  assert.equal(atRest({ ...NOTHING, recovered: 1 }), 'needs-attention');
});

test('the tables of the README name every event, and no state or event that there is not', () => {
  assert.deepEqual([...RULE.keys()].sort(), [...LINE_EVENTS].sort());
  for (const key of OWN.keys()) {
    const [state, event] = key.split(' × ');
    assert.ok(LINE_STATES.includes(state) && LINE_EVENTS.includes(event), key);
    assert.notDeepEqual(OWN.get(key), RULE.get(event), `${key} is the rule, and needs no row`);
  }
});

test('each state answers each event as the tables say, whatever the counts', () => {
  for (const state of LINE_STATES)
    for (const event of LINE_EVENTS)
      for (const counts of COUNTS)
        assert.deepEqual(step(state, event, counts), told(state, event, counts), `${state} × ${event}`);
});

test('each state says the sentence of the table', () => {
  const said = new Map(table('state', 'the line says', 'button').map(([state, text]) => [state, text]));
  assert.equal(WORDS['line.fetching'], said.get('sending, nothing waits'));
  said.delete('sending, nothing waits');
  assert.deepEqual([...said.keys()].sort(), [...LINE_STATES].sort());
  for (const [state, text] of said) assert.equal(WORDS[`line.${state}`], text);
});

/** An engine with nothing behind it, in a state, at second 100, with a timer that is due at 1,000. */
async function engineIn(state, counts) {
  const around = { timers: new Map([[1, 1_000_000]]), next: 2, now: () => 100_000 };
  const surroundings = {
    ...around,
    setTimer: (_run, ms) => {
      around.timers.set(around.next, 100_000 + ms);
      return around.next++;
    },
    clearTimer: (timer) => around.timers.delete(timer),
    chance: () => 1,
    locks: { request: async () => {} },
  };
  const engine = new Engine({ site: 's', person: 'p', counts: async () => counts }, {}, { surroundings });
  Object.assign(engine, { state, timer: 1, counts });
  return { engine, due: () => [...around.timers.values()].map((at) => (at - 100_000) / 1000) };
}

test('each cell sets the timer as the tables say: at once, in a minute, later and later, or not at all', async () => {
  const NEXT = { sync: [0.5], wait: [60], 'back-off': [2], stay: [900] };
  for (const state of LINE_STATES)
    for (const event of LINE_EVENTS) {
      const { engine, due } = await engineIn(state, SOME);
      await engine.tell(event);
      const wanted = told(state, event, SOME);
      assert.equal(engine.status.state, wanted.state, `${state} × ${event}`);
      assert.deepEqual(due(), NEXT[wanted.then], `${state} × ${event}: ${wanted.then}`);
      assert.equal(engine.status.nextTry, wanted.then === 'back-off' ? 102_000 : null, `${state} × ${event}`);
    }
});

test("conflicts that are another role's to settle do not stand in the line", async () => {
  const { engine } = await engineIn('sent', DISPUTED);
  engine.settles = () => false;
  await engine.tell('finished');
  assert.equal(engine.status.state, 'unsent');
});

test('tries go out ever more rarely, spread by half, five minutes at most', () => {
  assert.deepEqual(
    [1, 2, 3, 4].map((failures) => backOffS(failures, 1)),
    [2, 4, 8, 16],
  );
  assert.deepEqual(
    [1, 2, 3].map((failures) => backOffS(failures, 0)),
    [1, 2, 4],
  );
  assert.equal(backOffS(50, 1), 300);
  assert.equal(backOffS(50, 0), 150);
});

test('a server that asks for patience gets it', () => {
  assert.equal(backOffS(1, 0, 30), 30);
});
