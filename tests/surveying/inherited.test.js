// What is answered once for a floor or a panel: the same cases as the server's. Twin of test_what_is_inherited.py.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { Survey } from '../../pwa/rules/survey.js';

const { cases } = JSON.parse(readFileSync(new URL('../vectors/inherited.json', import.meta.url), 'utf8'));

const record = (id, type, parent, facets) => ({ id, type, parent, removed: false, facets, conflicts: [] });

const recordsOf = ({ floor, panels = {}, room = {}, group = {} }) => [
  record('site', 'site', null, {}),
  record('floor', 'floor', 'site', { identity: { name: 'Level 2' }, ...floor }),
  ...Object.entries(panels).map(([name, supply]) =>
    record(name, 'panel', 'site', { identity: { name }, supply }),
  ),
  record('room', 'room', 'floor', room),
  record('group', 'group', 'room', group),
];

for (const each of cases) {
  test(each.name, () => {
    const about = each.group ? 'group' : 'room';
    const survey = new Survey(recordsOf(each));
    assert.deepEqual(survey.get(about).facets, each.wanted);
    const told = (survey.inherited.get(about) ?? []).map(
      ({ facet, field, source }) => `${facet}.${field} ${source}`,
    );
    assert.deepEqual(told, each.answers);
  });
}

test('what is inherited is the word of who answered for the floor', () => {
  const floor = {
    ...record('floor', 'floor', 'site', { surroundings: { moisture: 'dry' } }),
    by: { surroundings: 'rosa' },
  };
  const room = { ...record('room', 'room', 'floor', {}), by: {} };
  const survey = new Survey([record('site', 'site', null, {}), floor, room]);
  assert.deepEqual(survey.get('room').by, { surroundings: 'rosa' });
});
