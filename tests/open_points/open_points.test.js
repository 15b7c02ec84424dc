// The page's open points give what the server's give: the same cases, planted, found once, put right, gone.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { openPoints, RULES } from '../../pwa/rules/points/open_points.js';
import { patched } from './planting.js';

const lamps = JSON.parse(
  readFileSync(new URL('../../seed_data/reference/lamps.json', import.meta.url), 'utf8'),
);
const tables = { lamps };
const vectors = JSON.parse(readFileSync(new URL('../vectors/open_points.json', import.meta.url), 'utf8'));

test('what is planted is found once', () => {
  for (const { name, plant, found, facts } of vectors.cases) {
    assert.deepEqual(
      openPoints(patched(vectors.site, plant), { ...vectors.facts, ...facts }, tables),
      found,
      name,
    );
  }
});

test('put right it goes', () => {
  for (const { name, plant, fix, facts, facts_fixed } of vectors.cases.filter((each) => each.fix)) {
    const records = patched(patched(vectors.site, plant), fix);
    assert.deepEqual(openPoints(records, { ...vectors.facts, ...facts, ...facts_fixed }, tables), [], name);
  }
});

test('the order of the records does not matter', () => {
  for (const { name, plant, found, facts } of vectors.cases) {
    const records = patched(vectors.site, plant).reverse();
    assert.deepEqual(openPoints(records, { ...vectors.facts, ...facts }, tables), found, name);
  }
});

test('the page knows every rule of the vectors', () => {
  const planted = new Set(vectors.cases.flatMap((each) => each.found.map((point) => point.rule)));
  assert.deepEqual([...planted].sort(), RULES.map((rule) => rule.name).sort());
});
