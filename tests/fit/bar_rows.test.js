// The rows of bars that the page judges are the server's: the vectors of tests/vectors/bar_rows.json.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { barRows } from '../../pwa/rules/fit/bar_rows.js';

const { base, cases } = JSON.parse(
  readFileSync(new URL('../vectors/bar_rows.json', import.meta.url), 'utf8'),
);
const item = ({ id, offered, recall, retired, ...sizes }) => ({
  id,
  facets: {
    identity: offered === undefined ? {} : { offered },
    bar: { ...base, ...sizes },
    ...(recall && { recall }),
    ...(retired && { retired }),
  },
});

test('the rows worth judging are those of the server', () => {
  for (const { name, items, cavity_ticks, rows } of cases) {
    const found = barRows(items.map(item), cavity_ticks).map((row) => row.map(({ id }) => id).join(' '));
    assert.deepEqual(found, rows, name);
  }
});

test('of a huge catalogue five thousand rows are kept', () => {
  const sized = (at) =>
    item({ id: String(at).padStart(2, '0'), length_ticks: 72_000 + at, lit_ticks: 70_000 + at });
  assert.equal(
    barRows(
      Array.from({ length: 60 }, (_, at) => sized(at)),
      300_000,
    ).length,
    5000,
  );
});
