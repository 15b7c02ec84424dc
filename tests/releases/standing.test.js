// A conversion stands on the page as on the server: the vectors of tests/vectors/standing.json.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { doneAt, fingerprintOf, standingOf } from '../../pwa/rules/since_release/standing.js';
import { Survey } from '../../pwa/rules/survey.js';

/** @param {string} path */
const json = (path) => JSON.parse(readFileSync(new URL(path, import.meta.url), 'utf8'));
const { records, cases } = json('../vectors/standing.json');
const tables = Object.fromEntries(
  ['lamps', 'instruments', 'expansion', 'prediction', 'standing'].map((name) => [
    name,
    json(`../../seed_data/reference/${name}.json`),
  ]),
);
const [BY, AT] = ['bea', '2026-04-02T10:00:00Z'];

/** The site with the changes of a case. @param {any} change */
function siteOf({ set = {}, add = [], remove = [], conflict = [] }) {
  const found = new Map(structuredClone([...records, ...add]).map((/** @type {any} */ each) => [each.id, each]));
  for (const [id, facets] of Object.entries(set)) {
    for (const [name, fields] of Object.entries(facets)) {
      const record = found.get(id);
      const laid = Object.entries({ ...record.facets[name], ...fields }).filter(([, said]) => said !== null);
      record.facets[name] = Object.fromEntries(laid);
      record.by[name] = BY;
      record.at[name] = AT;
    }
  }
  for (const id of remove) found.get(id).removed = true;
  for (const [id, facet] of conflict)
    found.get(id).conflicts.push({ id: `${id} ${facet}`, facet, by: BY, at: AT, value: {} });
  return new Survey(found.values());
}

test('a change after a release has its standing, as on the server', () => {
  assert.ok(cases.length >= 25);
  for (const each of cases) {
    const survey = siteOf(each);
    const found = standingOf(survey, survey.byId.get(each.of), tables, each.position);
    const facts = found.changes.map(({ fact }) => fact);
    assert.equal(found.standing, each.expect.standing, `${each.name}: ${JSON.stringify(found)}`);
    if (each.only_some) assert.deepEqual(each.expect.facts.filter((/** @type {string} */ fact) => !facts.includes(fact)), []);
    else assert.deepEqual(facts, each.expect.facts, each.name);
    assert.equal(found.fingerprint, each.expect.fingerprint, each.name);
    assert.equal(found.locked, ['stop', 'withdrawn', 'superseded'].includes(each.expect.standing));
    if (each.expect.done !== undefined) {
      const done = doneAt(survey, survey.byId.get('group'), each.position, tables);
      const told = done && { release: done.release, standing: done.standing, changed: done.changed };
      assert.deepEqual(told, each.expect.done, each.name);
    }
  }
});

test('judging only what was written since comes to the same', () => {
  for (const each of cases) {
    const [as, survey] = [siteOf(each), siteOf(each)];
    const added = new Set((each.add ?? []).map((/** @type {any} */ { id }) => id));
    for (const record of /** @type {any[]} */ (survey.all)) {
      const seq = (/** @type {string} */ name) => (added.has(record.id) || record.at[name] === AT ? 200 : 50);
      record.seqs = Object.fromEntries(Object.keys(record.facets).map((name) => [name, seq(name)]));
    }
    assert.deepEqual(
      standingOf(survey, survey.byId.get(each.of), tables, each.position),
      standingOf(as, as.byId.get(each.of), tables, each.position),
      each.name,
    );
  }
});

test('a change says who made it and when', () => {
  const each = cases.find((/** @type {any} */ { name }) => name === 'feeds one, then two');
  const survey = siteOf(each);
  const { changes } = standingOf(survey, survey.byId.get(each.of), tables);
  const expected = { fact: 'kind.wiring.feeds', weight: 'stop', before: 'one', now: 'two', by: BY, at: AT };
  assert.deepEqual(changes, [expected]);
});

test('a fingerprint does not hang on the order or on who said it', () => {
  const one = { fact: 'a', weight: 'stop', before: 1, now: null, by: 'ann' };
  const other = { fact: 'b', weight: 'look', before: [2, 3], now: true };
  assert.equal(fingerprintOf([one, other]), fingerprintOf([other, { ...one, by: 'bea' }]));
  assert.notEqual(fingerprintOf([one]), fingerprintOf([one, other]));
});
