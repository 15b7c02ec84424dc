// The page judges a group as the server does: the vectors of tests/vectors/judging.json.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { pooled } from '../../pwa/rules/fit/cavity.js';
import { judgeGroup, RULES_VERSION } from '../../pwa/rules/judging/judging.js';
import { inOrderOfPlace, spreadOfGroup } from '../../pwa/rules/fit/sampling.js';
import { argumentsOf, base, cases, shown, tables } from './judging_cases.js';

function judged(each, change = {}) {
  const { group, kind, room, site, readings, others, bars, trials } = { ...argumentsOf(each), ...change };
  return judgeGroup(group, kind, room, site, readings, others, bars, tables, trials);
}

test('a group is judged as on the server', () => {
  for (const each of cases) {
    const found = judged(each);
    for (const [path, wanted] of Object.entries(each.expect)) {
      assert.deepEqual(shown(found, path), wanted, `${each.name}: ${path}`);
    }
  }
});

test('nothing that was given is changed', () => {
  const before = structuredClone(base.bars);
  judged({ set: {} });
  assert.deepEqual(base.bars, before);
});

test('the rules of page and server are of one version', () => {
  const shared = readFileSync(new URL('../../server/spanwalk/spec/rules.json', import.meta.url), 'utf8');
  assert.equal(RULES_VERSION, JSON.parse(shared).version);
});

test('a spread of the kind pooled already gives what the other groups give', () => {
  for (const each of cases) {
    const spread = pooled(argumentsOf(each).others.map((other) => spreadOfGroup(...other, tables)));
    assert.deepEqual(judged(each, { others: spread }), judged(each), each.name);
  }
});

test('the order in which readings come does not matter, to the last letter', () => {
  for (const each of cases) {
    const turned = { readings: argumentsOf(each).readings.toReversed() };
    assert.equal(JSON.stringify(judged(each, turned)), JSON.stringify(judged(each)), each.name);
  }
});

test('every bar by itself is shown, however many there are', () => {
  const [bar] = base.bars;
  const named = (at) => `bar-${String(at).padStart(3, '0')}`;
  const bars = Array.from({ length: 60 }, (_, at) => {
    const size = { ...bar.facets.bar, length_ticks: 379_000 + 200 * at };
    return { ...bar, id: named(at), facets: { ...bar.facets, bar: size } };
  });
  const shown = judged(cases[0], { bars }).fits.map((fit) => fit.bars[0]);
  assert.deepEqual(
    shown.sort(),
    bars.map((each) => each.id),
  );
});

test('a catalogue of two hundred bars gives a list that can be read', () => {
  const [bar] = base.bars;
  const bars = Array.from({ length: 200 }, (_, at) => {
    const size = { ...bar.facets.bar, length_ticks: 90_000 + 600 * at, lit_ticks: 89_000 + 600 * at };
    return { ...bar, id: `bar-${String(at).padStart(3, '0')}`, facets: { ...bar.facets, bar: size } };
  });
  const { fits } = judged(cases[0], { bars });
  assert.equal(fits.filter((fit) => fit.bars.length > 1).length, 40);
  assert.ok(fits.filter((fit) => fit.verdict === 'fits').length >= 20);
});

test('cavities come by fixture, then by row, then by place in the row', () => {
  const ordered = [
    [1, 1, 1],
    [1, 1, 2],
    [1, 1, 10],
    [1, 2, 1],
    [1, 2, 3],
    [1, 10, 1],
    [2, 1, 1],
    [10, 1, 1],
  ];
  for (const places of [ordered.toReversed(), [...ordered.slice(3), ...ordered.slice(0, 3)]]) {
    assert.deepEqual(places.toSorted(inOrderOfPlace), ordered);
  }
});
