// Verdicts in lists of rooms: as the group's own screen judges, only of rooms that are asked for, and once.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { store } from '../../pwa/store/store.js';
import { judged } from '../../pwa/views/measuring/judged_group.js';
import { RoomVerdicts } from '../../pwa/views/measuring/room_verdicts.js';
import { argumentsOf, tables } from '../fit/judging_cases.js';

store.tables.reference = tables;
const { group, kind, room, site, readings, bars } = argumentsOf({ set: {} });

/** A site of some rooms alike, each with one group of the kind and the readings of the case. */
function siteOf(rooms) {
  const all = [site, kind, ...bars];
  for (let n = 0; n < rooms; n++) {
    const [here, own] = [`room ${n}`, `group ${n}`];
    all.push({ ...room, id: here });
    all.push({
      ...group,
      id: own,
      parent: here,
      facets: { ...group.facets, identity: { ...group.facets.identity, parent: here, kind: kind.id } },
    });
    for (const each of readings) all.push({ ...each, id: `${each.id} ${n}`, parent: own });
  }
  const byId = new Map(all.map((each) => [each.id, each]));
  return {
    id: site.id,
    reads: { turn: 1 },
    get: async (id) => byId.get(id),
    all: async (type) => all.filter((each) => each.type === type),
    children: async (parent, type) => all.filter((each) => each.parent === parent && each.type === type),
    referring: async (id, type) =>
      all.filter((each) => each.type === type && each.facets.identity?.kind === id),
    records: all,
  };
}

const wanted = () => true;

test('a room that is asked for is judged as on the screen of its group', async () => {
  const here = siteOf(3);
  const [told] = await new RoomVerdicts(here).ask('room 1', wanted);
  const found = (type, parent) => here.records.filter((each) => each.type === type && each.parent === parent);
  const others = [0, 2].map((n) => [
    here.records.find(({ id }) => id === `group ${n}`),
    kind,
    found('cavity_reading', `group ${n}`),
  ]);
  const own = judged({
    group: here.records.find(({ id }) => id === 'group 1'),
    kind,
    room: here.records.find(({ id }) => id === 'room 1'),
    site,
    readings: found('cavity_reading', 'group 1'),
    others,
    bars,
    trials: [],
  });
  assert.deepEqual(told, { degree: own.degree.degree, groups: 1 });
});

test('of many rooms only those that are looked at are judged', async () => {
  const verdicts = new RoomVerdicts(siteOf(50));
  await verdicts.ask('room 7', wanted);
  await verdicts.ask('room 8', () => false);
  assert.equal(verdicts.judged, 1);
});

test('a room that is looked at again is not judged again, until something is written', async () => {
  const here = siteOf(2);
  const verdicts = new RoomVerdicts(here);
  await verdicts.ask('room 0', wanted);
  await verdicts.ask('room 0', wanted);
  assert.equal(verdicts.judged, 1);
  here.reads.turn += 1;
  await verdicts.ask('room 0', wanted);
  assert.equal(verdicts.judged, 2);
});

test('a room without groups has nothing to tell', async () => {
  const here = siteOf(1);
  here.children = async () => [];
  assert.deepEqual(await new RoomVerdicts(here).ask('room 0', wanted), []);
});
