import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { readingUncertainty } from '../../pwa/rules/measuring/instruments.js';
import { formatInches, formatMm, parseLength } from '../../pwa/rules/measuring/lengths.js';
import { questions } from '../../pwa/rules/measuring/reading_sense.js';

const read = (path) => JSON.parse(readFileSync(new URL(path, import.meta.url), 'utf8'));
const tables = Object.fromEntries(
  ['lamps', 'instruments'].map((name) => [name, read(`../../seed_data/reference/${name}.json`)]),
);

test('what is typed is read exactly, or asked about, or refused, as on the server', () => {
  for (const { name, text, units, ticks, error, question, exact, unit } of read('../vectors/lengths.json')
    .parse) {
    const said = parseLength(text, units);
    assert.equal(said.error?.code, error, name);
    assert.equal(said.question?.code, question, name);
    assert.equal(said.question?.ticks ?? said.ticks, ticks, name);
    if (unit) assert.equal(said.unit, unit, name);
    if (exact === false) assert.equal(said.exact, false, name);
  }
});

test('a length is shown as it stands on the tape, as on the server', () => {
  for (const { ticks, inches, mm } of read('../vectors/lengths.json').format) {
    assert.equal(formatMm(ticks), mm);
    if (inches) assert.equal(formatInches(ticks), inches);
  }
});

test('a reading is asked about, or not, as on the server', () => {
  for (const { name, length_ticks, lamps, uncertainty_ticks, codes } of read('../vectors/reading_sense.json')
    .cases) {
    assert.deepEqual(
      questions(length_ticks, lamps, uncertainty_ticks, tables).map((asked) => asked.code),
      codes,
      name,
    );
  }
});

test('a reading may be wrong by as much as on the server', () => {
  for (const { name, reading, ...wanted } of read('../vectors/instruments.json').cases) {
    const { graduation_ticks: _, ...said } = readingUncertainty(reading, tables);
    assert.deepEqual(said, wanted, name);
  }
});
