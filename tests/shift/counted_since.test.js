// Fixtures that were counted after the release: they are in none of the numbers of the day, and said to be in no release.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { Survey } from '../../pwa/rules/survey.js';
import { workOf } from '../../pwa/views/crew/jobs.js';
import { nextOpen } from '../../pwa/views/crew/fixture_facts.js';
import { pickingList } from '../../pwa/views/today/picking_list.js';
import { stoppedIn } from '../../pwa/views/today/read_day.js';
import { fixtureStateIn } from '../../pwa/views/today/room_state.js';
import { fixtureLines } from '../../pwa/views/today/signed.js';

/** @param {string} path */
const json = (path) => JSON.parse(readFileSync(new URL(path, import.meta.url), 'utf8'));
const { records } = json('../vectors/standing.json');
const tables = Object.fromEntries(
  ['lamps', 'instruments', 'expansion', 'prediction', 'standing'].map((name) => [
    name,
    json(`../../seed_data/reference/${name}.json`),
  ]),
);
const CARD = { rows: [{ row: 1, cavities: 1, bars: [{ name: 'BAR' }], dark: false }], driver: null };

/** @param {number} position @param {string} outcome */
const noted = (position, outcome) => ({
  id: `${outcome} ${position}`,
  type: 'installation',
  parent: 'group',
  removed: false,
  facets: { identity: { position, outcome, conversion: 'conversion of group', noted_at: '2026-03-02T09:00:00Z' } },
  conflicts: [],
  seqs: { identity: 100 + position },
});

/** The released group of 16, counted again. @param {number} count @param {any[]} [added] @param {any} [answer] */
function jobOf(count, added = [], answer = undefined) {
  const now = structuredClone(records);
  const of = (/** @type {string} */ id) => now.find((/** @type {any} */ each) => each.id === id);
  of('group').facets.count.count = count;
  of('conversion of group').facets.identity.frozen = CARD;
  if (answer) of('conversion of group').facets.answer = answer;
  const survey = new Survey([...now, ...added]);
  const jobs = workOf(survey, /** @type {any} */ (tables)).flatMap((floor) => floor.jobs);
  return /** @type {any} */ (jobs.find(({ group }) => group.id === 'group'));
}

test('what was counted since is not left to do, and no parts are picked for it', () => {
  const job = jobOf(18);
  assert.deepEqual([job.fixtures, job.left.length, job.done, job.further], [16, 16, 0, [17, 18]]);
  assert.deepEqual(pickingList([job], []).map(({ item, wanted }) => [item, wanted]).find(([item]) => item === 'BAR'), ['BAR', 16]);
  assert.deepEqual([16, 17].map((each) => fixtureStateIn(job, each)), ['open', 'not-in-release']);
});

test('a room of which only such fixtures are left is not done', () => {
  const job = jobOf(17, Array.from({ length: 16 }, (_, at) => noted(at + 1, 'done')));
  assert.deepEqual([job.left, job.further, job.done, job.next], [[], [17], 16, null]);
  assert.equal(stoppedIn(/** @type {any} */ ({ stopped: [], jobs: [job] }), job.room.id), 1);
});

test('a manager who lets them go on makes them work like the others', () => {
  const { stands } = jobOf(17);
  const job = jobOf(17, [], { changes: stands.fingerprint, answer: 'the same body, seen' });
  assert.deepEqual([job.fixtures, job.left.length, job.further], [17, 17, []]);
});

test('what a manager said before the count was raised lets nothing of it go on', () => {
  const earlier = { changes: 'of other changes', answer: 'the same body, seen' };
  assert.deepEqual(jobOf(17, [], earlier).further, [17]);
});

test('the next fixture is one that the release has', () => {
  const { group, conversion, further } = jobOf(17);
  const read = /** @type {any} */ ({ group, conversion, positions: [15, 16, 17], done: new Set([15]) });
  assert.deepEqual([nextOpen(read, 15, further), nextOpen(read, 16, further)], [16, null]);
});

test('a fixture that is done counts though the count has it no more, and is signed for', () => {
  const job = jobOf(14, [noted(16, 'done'), noted(15, 'problem')]);
  assert.deepEqual([job.fixtures, job.done, job.left.length, job.positions.at(-1)], [15, 1, 14, 16]);
  assert.deepEqual(fixtureLines([job]).filter(({ outcome }) => outcome === 'done').map(({ position }) => position), [16]);
});

test('clips that were released for so many fixtures are so many at each, however many are counted since', () => {
  const clips = { ...CARD, accessories: [{ name: 'CLIP', purpose: 'clip', in_the_group: 32 }] };
  for (const count of [12, 16, 20]) {
    const job = jobOf(count);
    job.conversion.facets.identity.frozen = clips;
    const line = pickingList([job], []).find(({ item }) => item === 'CLIP');
    assert.equal(line?.wanted, 2 * Math.min(count, 16));
  }
});
