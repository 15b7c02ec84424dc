// The page says how sure a verdict is as the server does: the vectors of tests/vectors/degree.json.
import assert from 'node:assert/strict';
import test from 'node:test';
import { readOfKind } from '../../pwa/rules/fit/by_lamp.js';
import { degreeOf } from '../../pwa/rules/judging/degree.js';
import { judgeGroup } from '../../pwa/rules/judging/judging.js';
import { argumentsOf, read, shown, tables } from './judging_cases.js';

const { cases } = read('../vectors/degree.json');

function degree(each) {
  const { group, kind, room, site, readings, others, bars, trials } = argumentsOf(each);
  const told = judgeGroup(group, kind, room, site, readings, others, bars, tables, trials);
  return degreeOf(group, told, readOfKind([[group, kind, readings, told.questions]]));
}

test('how sure a verdict is, and what holds it back', () => {
  assert.ok(cases.length > 30);
  for (const each of cases) {
    const found = degree(each);
    for (const [path, wanted] of Object.entries(each.expect)) {
      assert.deepEqual(shown(found, path), wanted, `${each.name}: ${path}`);
    }
  }
});
