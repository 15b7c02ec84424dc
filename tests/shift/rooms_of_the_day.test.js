// How far a room is, where it stands on the plan of its floor, and which spares went into it.

import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { test } from 'node:test';
import { Survey } from '../../pwa/rules/survey.js';
import { store } from '../../pwa/store/store.js';
import { heldBefore } from '../../pwa/views/today/days.js';
import { pinsOfDay } from '../../pwa/views/today/plan_of_day.js';
import { fixtureState, roomState } from '../../pwa/views/today/room_state.js';
import { spareLines } from '../../pwa/views/today/spares.js';
import { record, roomWithWork } from './the_day.js';

const folder = new URL('../../server/spanwalk/spec/words.en/', import.meta.url);
store.tables.words = Object.assign(
  {},
  ...readdirSync(folder).map((name) => JSON.parse(readFileSync(new URL(name, folder), 'utf8'))),
);

/** @param {string} outcome @param {string} [state] @param {any} [facets] */
const said = (outcome, state = 'unanswered', facets = {}) => ({
  record: record('i', 'installation', 'G01-group', { identity: { outcome }, ...facets }),
  outcome,
  state,
});
/** @param {string} name @param {any[]} told by position, from 1 @param {any} [more] */
function roomTold(name, told, more = {}) {
  const job = roomWithWork(name, 3, more);
  job.told = new Map(told.map((each, at) => [at + 1, each]));
  job.left = [1, 2, 3].filter((position) => job.told.get(position)?.outcome !== 'done');
  return job;
}

test('a fixture is open, done, skipped, a problem, answered by the desk, or not done after all', () => {
  assert.deepEqual(
    [undefined, said('done', 'as-released'), said('skipped'), said('problem'), said('problem', 'do-it-so'), said('done', 'sent-back'), said('not-done-after-all')].map(fixtureState),
    ['open', 'done', 'skipped', 'problem', 'answered', 'answered', 'undone'],
  );
});

test('a room says first what somebody has to know first', () => {
  const done = said('done', 'as-released');
  const states = [[], [done], [done, done, done], [done, said('problem')], [said('problem'), said('problem', 'wait')]];
  assert.deepEqual(states.map((told) => roomState([roomTold('G01', told)])), ['not-begun', 'begun', 'done', 'problem', 'answered']);
});

test('a room of which what is left must not be converted for now is not done', () => {
  const done = roomTold('G01', Array(3).fill(said('done', 'as-released')));
  assert.deepEqual([roomState([done]), roomState([done], 1), roomState([], 1)], ['done', 'stopped', 'stopped']);
  assert.equal(roomState([roomTold('G02', [])], 1), 'not-begun');
});

const PLAN = record('plan', 'photo', 's', { identity: { subject: 'ground', purpose: 'floor-plan' } });
/** @param {any[]} jobs @param {string[]} [mine] */
function dayOf(jobs, mine = []) {
  const survey = new Survey([record('s', 'site', null, {}), record('ground', 'floor', 's', {}), PLAN, ...jobs.map(({ room }) => room)]);
  const holders = new Map(jobs.map(({ room }) => [room.id, [{ who: 'Bo', person: mine.includes(room.id) ? 'me' : 'bo', deed: 'taken' }]]));
  return /** @type {any} */ ({ survey, jobs, holders, stopped: [] });
}
const pinned = { room: { pin: { plan: 'plan', x: 2000, y: 3000 } } };

const ME = { id: 'me', name: 'Ada' };

test('a room that somebody has stands on the plan with the word and colour of its state', () => {
  const mine = roomTold('G01', [said('done', 'as-released')], pinned);
  const others = roomTold('G02', [], pinned);
  const stuck = roomTold('G03', [said('problem')], pinned);
  const pins = pinsOfDay(dayOf([mine, others, stuck], ['G01', 'G03']), 'ground', ME);
  assert.deepEqual(
    pins.map(({ id, x, y, label, word, look }) => [id, x, y, label, word, look]),
    [
      ['G01', 2000, 3000, 'G01', '2 left', ''],
      ['G02', 2000, 3000, 'G02', '3 to do', 'quiet'],
      ['G03', 2000, 3000, 'G03', 'problem', 'attention'],
    ],
  );
  assert.equal(pins[0].name, 'G01 2 left: G01, you; 2 of 3 fixtures to do');
  assert.match(pins[1].name, /Bo/);
});

test('a room that nobody has, that is on another floor, or without a place there, is on no plan', () => {
  const [free, unplaced] = [roomTold('G01', [], pinned), roomTold('G02', [])];
  const day = dayOf([free, unplaced]);
  day.holders.delete('G01');
  assert.deepEqual(pinsOfDay(day, 'ground', ME), []);
  assert.deepEqual(pinsOfDay(dayOf([free]), 'above', ME), []);
});

test('spares are counted by code over all fixtures done, and those of today apart', () => {
  /** @param {string} noted_at @param {any[]} items */
  const used = (noted_at, items) => {
    const each = said('done', 'as-released', { as_fitted: { as_released: true, items } });
    each.record.facets.identity.noted_at = noted_at;
    return each;
  };
  const bars = (/** @type {number} */ number, spare = true) => ({ kind: 'bar', code: 'B-4', number, spare });
  const job = roomTold('G01', [
    used(new Date(2026, 2, 10, 9).toISOString(), [bars(2)]),
    used(new Date(2026, 2, 9, 9).toISOString(), [bars(1), { kind: 'driver', code: 'D-40', number: 1, spare: true }]),
    { ...used('', [bars(5)]), outcome: 'not-done-after-all' },
  ]);
  assert.deepEqual(spareLines([job, roomTold('G02', [used('', [bars(4, false)])])], '2026-03-10'), [
    { code: 'B-4', number: 3, today: 2 },
    { code: 'D-40', number: 1, today: 0 },
  ]);
});

test('a room of an earlier day is known until it was given back, with the last such day', () => {
  let place = 0;
  /** @param {string} room @param {string} day @param {string} deed @param {string} [person] */
  const given = (room, day, deed, person = 'me') => {
    place += 1;
    const identity = { parent: room, day, deed, person, who: person, noted_at: `${day}T0${place}:00:00Z` };
    return /** @type {any} */ ({ id: `a${place}`, type: 'assignment', parent: room, facets: { identity }, seqs: { identity: place } });
  };
  const assignments = [
    given('G01', '2026-03-01', 'assigned'),
    given('G01', '2026-03-02', 'taken'),
    given('G02', '2026-03-02', 'taken'),
    given('G02', '2026-03-02', 'given-back'),
    given('G03', '2026-03-02', 'assigned', 'bo'),
    given('G04', '2026-03-03', 'assigned'),
    given('G05', '2026-03-04', 'assigned'),
  ];
  assert.deepEqual([...heldBefore(assignments, '2026-03-03', ME)], [['G01', '2026-03-02']]);
  assert.deepEqual([...heldBefore(assignments, '2026-03-03', null)], []);
});
