// What a crew takes along, which rooms go dark together, how fixtures are reached, and who has which room.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Survey } from '../../pwa/rules/survey.js';
import { runsOf } from '../../pwa/views/today/access_runs.js';
import { circuitsOf } from '../../pwa/views/today/circuits.js';
import { dayOf, holdersOn, holds } from '../../pwa/views/today/days.js';
import { containerOf, pickingList, shortParts, pickedParts } from '../../pwa/views/today/picking_list.js';
import { ranges } from '../../pwa/views/today/ranges.js';
import { CARD, record, roomWithWork } from './the_day.js';

/** @param {any[]} lines @returns {Record<string, number>} */
const numbers = (lines) => Object.fromEntries(lines.map(({ sort, item, wanted }) => [[sort, item].filter(Boolean).join(' '), wanted]));

test('a room\'s picking list is what its fixtures take, what is capped and what comes out', () => {
  // By hand: 3 fixtures of 2 bars and 1 driver; 2 lamps of 2 sockets with 2 leads each make 8 caps; one fixture has a pack.
  assert.deepEqual(numbers(pickingList([roomWithWork('G01', 3)], [])), {
    'bar B-4': 6,
    'driver D-40': 3,
    'emergency-pack P-10': 1,
    cap: 24,
    label: 3,
    'lamps-out T8 4 ft': 6,
    'ballasts-out magnetic · suspect': 3,
    'batteries-out nickel-cadmium': 1,
  });
});

test('a driver is told with the current it is to be set to', () => {
  const driver = pickingList([roomWithWork('G01', 1)], []).find(({ sort }) => sort === 'driver');
  assert.deepEqual(driver?.settings, [{ ma: 700, number: 1 }]);
});

test('drivers of one code for two currents are told with how many of each', () => {
  const other = roomWithWork('G02', 2);
  other.conversion.facets.identity.frozen = { ...CARD, driver: { ...CARD.driver, setting_ma: 900 } };
  const driver = pickingList([roomWithWork('G01', 3), other], []).find(({ sort }) => sort === 'driver');
  assert.deepEqual(driver?.settings, [{ ma: 700, number: 3 }, { ma: 900, number: 2 }]);
  assert.deepEqual(driver?.parts.map(({ settings }) => settings), [[{ ma: 700, number: 3 }], [{ ma: 900, number: 2 }]]);
});

test('ballasts of which nobody knows that they are free of PCBs have a container of their own', () => {
  const out = (/** @type {string} */ item) => containerOf({ sort: 'ballasts-out', item });
  assert.deepEqual(
    ['magnetic · suspect', 'not-seen · not known', 'magnetic', 'magnetic · not suspect', 'electronic · not suspect'].map(out),
    ['ballasts-apart', 'ballasts-apart', 'ballasts-apart', 'ballasts', 'ballasts'],
  );
  assert.deepEqual(
    ['lamps-out', 'batteries-out', 'bar'].map((sort) => containerOf({ sort, item: 'x' })),
    ['lamps', 'batteries', null],
  );
});

test('what is done is not picked for', () => {
  const lines = numbers(pickingList([roomWithWork('G01', 3, { left: [3] })], []));
  assert.equal(lines['bar B-4'], 2);
  assert.equal(lines['emergency-pack P-10'], undefined);
  assert.deepEqual(pickingList([roomWithWork('G01', 3, { left: [] })], []), []);
});

test('a floor\'s list is the sum of its rooms, and a tick is one for each room', () => {
  const [bars] = pickingList([roomWithWork('G01', 3), roomWithWork('G02', 2)], []);
  assert.equal(bars.wanted, 10);
  assert.deepEqual(pickedParts(bars, true).map(({ room, value }) => [room, value.wanted, value.ticked]), [
    ['G01', 6, true],
    ['G02', 4, true],
  ]);
});

/** @param {any} value @param {string} room @param {number} order */
const picked = (value, room, order) => record(`p${order}`, 'picking', room, { identity: { release: 'r1', ...value } }, order);

test('of two people who tick one thing the word that the server took last counts', () => {
  const jobs = [roomWithWork('G01', 3)];
  const bar = { sort: 'bar', item: 'B-4', wanted: 6 };
  const both = [picked({ ...bar, ticked: false }, 'G01', 9), picked({ ...bar, ticked: true }, 'G01', 8)];
  assert.equal(pickingList(jobs, both)[0].ticked, false);
  assert.equal(pickingList(jobs, both.slice(1))[0].ticked, true);
});

test('what was picked for fewer fixtures, or for an earlier release, is not picked', () => {
  const jobs = [roomWithWork('G01', 3)];
  const few = picked({ sort: 'bar', item: 'B-4', wanted: 4, ticked: true }, 'G01', 1);
  const old = picked({ release: 'r0', sort: 'bar', item: 'B-4', wanted: 6, ticked: true }, 'G01', 1);
  assert.equal(pickingList(jobs, [few])[0].ticked, false);
  assert.equal(pickingList(jobs, [old])[0].ticked, false);
});

test('of what is short the first rooms get theirs and the last go without', () => {
  const [bars] = pickingList([roomWithWork('G01', 3), roomWithWork('G02', 2)], []);
  const said = (/** @type {number} */ short) => shortParts(bars, short).map(({ room, value }) => [room, value.ticked, value.short ?? 0]);
  assert.deepEqual(said(3), [['G01', true, 0], ['G02', false, 3]]);
  assert.deepEqual(said(5), [['G01', false, 1], ['G02', false, 4]]);
  assert.deepEqual(said(0), [['G01', true, 0], ['G02', true, 0]]);
});

test('a short thing is told with how many, and picking it again takes that away', () => {
  const jobs = [roomWithWork('G01', 3)];
  const short = picked({ sort: 'bar', item: 'B-4', wanted: 6, ticked: false, short: 2 }, 'G01', 1);
  const again = picked({ sort: 'bar', item: 'B-4', wanted: 6, ticked: true }, 'G01', 2);
  assert.equal(pickingList(jobs, [short])[0].short, 2);
  assert.equal(pickingList(jobs, [short, again])[0].short, 0);
});

const SITE = [record('s', 'site', null, {}), record('ground', 'floor', 's', {})];
/** @param {any[]} jobs */
const surveyOf = (jobs) => new Survey([...SITE, ...jobs.flatMap(({ room, group }) => [room, group])]);
/** @param {string} panel @param {string} circuit @param {any} [more] */
const on = (panel, circuit, more = {}) => ({ supply: { panel, circuit, volts: '277', ...more } });

test('rooms on one circuit go dark together, those without work too, however it was written', () => {
  const hall = roomWithWork('G01', 3, { group: on('LP-1', '4') });
  const idle = roomWithWork('G02', 2, { group: on(' lp-1', '4'), left: [] });
  const other = roomWithWork('G03', 2, { group: on('LP-1', '12') });
  const found = circuitsOf(surveyOf([hall, idle, other]), [hall, idle, other]);
  assert.deepEqual(
    found.map(({ panel, circuit, left, rooms }) => [panel, circuit, left, rooms.map(({ room }) => room.id)]),
    [['LP-1', '4', 3, ['G01', 'G02']], ['LP-1', '12', 2, ['G03']]],
  );
});

test('what no one has seen the circuit of comes last, and is joined with nothing that has no work', () => {
  const hall = roomWithWork('G01', 3);
  const idle = roomWithWork('G02', 2, { left: [] });
  const half = roomWithWork('G03', 1, { group: { supply: { panel: 'LP-1', circuit: 'not-seen' } } });
  const named = roomWithWork('G04', 1, { group: on('Z', '1') });
  const found = circuitsOf(surveyOf([hall, idle, half, named]), [hall, idle, half, named]);
  assert.deepEqual(found.map(({ panel, rooms }) => [panel, rooms.map(({ room }) => room.id)]), [
    ['Z', ['G04']],
    ['', ['G01', 'G03']],
  ]);
});

test('a shared neutral and a second source are told of the whole circuit', () => {
  const hall = roomWithWork('G01', 1, { group: on('LP-1', '4') });
  const exit = roomWithWork('G02', 1, { group: { ...on('LP-1', '4', { shared_neutral: 'yes' }), duty: { emergency: 'central-battery' } }, left: [] });
  const [circuit] = circuitsOf(surveyOf([hall, exit]), [hall, exit]);
  assert.deepEqual([circuit.sharedNeutral, circuit.secondSource], [true, true]);
});

test('fixtures are grouped by how they are reached, the platform first, and the highest ceiling is told', () => {
  /** @param {string} name @param {string} access @param {number} [height_ticks] */
  const room = (name, access, height_ticks) => roomWithWork(name, 2, { room: { ceiling: { access }, ...(height_ticks && { size: { height_ticks } }) } });
  const jobs = [room('G01', 'ladder', 960000), room('G02', 'platform', 1920000), room('G03', 'ladder'), roomWithWork('G04', 1)];
  assert.deepEqual(
    runsOf(jobs).map(({ access, left, highestTicks, rooms }) => [access, left, highestTicks, rooms.map((each) => each.room.id)]),
    [['platform', 2, 1920000, ['G02']], ['ladder', 4, 960000, ['G01', 'G03']], ['not-seen', 1, null, ['G04']]],
  );
});

/** @param {string} room @param {string} deed @param {string} who @param {number} order @param {string} [day] */
const assigned = (room, deed, who, order, day = '2026-03-10') =>
  record(`a${order}`, 'assignment', room, { identity: { day, deed, who, person: `id-${who}` } }, order);

test('a room is somebody\'s for the day until it is given back, and several may have it', () => {
  const said = [assigned('G01', 'assigned', 'Ada', 1), assigned('G01', 'taken', 'Bo', 2), assigned('G01', 'given-back', 'Ada', 3), assigned('G02', 'taken', 'Bo', 4, '2026-03-11')];
  const holders = holdersOn(/** @type {any} */ (said), '2026-03-10');
  assert.deepEqual(holders.get('G01'), [{ who: 'Bo', person: 'id-Bo', deed: 'taken' }]);
  assert.equal(holders.has('G02'), false);
  assert.equal(holds(holders.get('G01'), { id: 'id-Bo', name: 'Bo' }), true);
  assert.equal(holds(holders.get('G01'), { id: 'id-Ada', name: 'Ada' }), false);
  assert.equal(holds(holders.get('G01'), null), false);
});

test('a day is the one where the phone is', () => {
  assert.equal(dayOf(new Date(2026, 2, 9, 23, 59)), '2026-03-09');
  assert.equal(dayOf(new Date(2026, 2, 10, 0, 0)), '2026-03-10');
});

test('numbers that follow one another are one range', () => {
  assert.equal(ranges([1, 2, 3, 5, 7, 8]), '1–3, 5, 7–8');
  assert.equal(ranges([]), '');
});
