// The page's check of each type of field, on the cases that the server's check stands on; rows are planted in the table too.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { withFieldTypes } from '../../pwa/store/tables.js';
import { checkField } from '../../pwa/views/forms/field_checks.js';

const read = (/** @type {string} */ path) =>
  JSON.parse(readFileSync(new URL(`../../${path}`, import.meta.url), 'utf8'));
const { cases, planted } = read('tests/vectors/field_types.json');
const shipped = read('server/spanwalk/spec/records.json').field_types;
const words = read('server/spanwalk/spec/words.en/views.json');
const fields = Object.fromEntries(
  cases.map((/** @type {any} */ { field }, /** @type {number} */ place) => [place, field]),
);
withFieldTypes({
  spec: 1,
  field_types: { ...shipped, ...planted },
  records: { x: { facets: { y: { fields } } } },
});

for (const [place, { field, value, page }] of cases.entries()) {
  test(`${field.type} ${JSON.stringify(value)} is ${page ?? 'right'} (case ${place + 1})`, () => {
    const found = checkField(field, value);
    assert.equal(found?.code ?? null, page);
    const asked = (words[page]?.match(/\{\w+\}/g) ?? []).map((/** @type {string} */ each) =>
      each.slice(1, -1),
    );
    for (const fact of asked) assert.ok(found?.facts[fact] !== undefined, `${page} lacks ${fact}`);
  });
}

test('there is a case that is right of every type of field', () => {
  const right = new Set(
    cases
      .filter((/** @type {any} */ each) => each.page === null)
      .map((/** @type {any} */ each) => each.field.type),
  );
  assert.deepEqual([...right].sort(), Object.keys({ ...shipped, ...planted }).sort());
});

test('a field that must be given is missed', () => {
  assert.equal(checkField({ ...fields[0], required: true }, undefined)?.code, 'field.missing');
});
