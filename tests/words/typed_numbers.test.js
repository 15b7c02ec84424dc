// Numbers as people type them, in two languages: what could be two numbers is asked, never guessed. How each language marks
// thousands and decimals: Unicode CLDR, as Intl has it.

import assert from 'node:assert/strict';
import test, { afterEach } from 'node:test';
import { store } from '../../pwa/store/store.js';
import { inOtherText } from '../../pwa/views/inputs/other_unit.js';
import { numberFor, typedFor, typedNumber, unclearInRow } from '../../pwa/views/inputs/typed_number.js';

afterEach(() => {
  store.language = 'en';
});

/** @param {string} text */
const read = (text) => typedNumber(text)?.number ?? typedNumber(text)?.unclear ?? null;

test('a comma before three digits is asked about: thousands in one language, decimals in another', () => {
  assert.deepEqual(read('3,500'), { whole: '3500', decimal: '3.5' });
  assert.deepEqual(read('-28,875'), { whole: '-28875', decimal: '-28.875' });
  assert.deepEqual(read('4,000'), { whole: '4000', decimal: '4' });
});

test('a point before three digits is a decimal one, unless who reads writes a comma', () => {
  assert.equal(read('28.875'), 28.875);
  store.language = 'es';
  assert.deepEqual(read('28.875'), { whole: '28875', decimal: '28,8750' });
  assert.deepEqual(read('3.500'), { whole: '3500', decimal: '3,5' });
});

test('what can be one number only is that number', () => {
  const cases = {
    3500: 3500,
    '3,5': 3.5,
    '3.50': 3.5,
    '0,125': 0.125,
    '.5': 0.5,
    '1,234,567': 1234567,
    '1,234.5': 1234.5,
    '1.234,5': 1234.5,
    '1.234.567': 1234567,
    '3500,125': 3500.125,
    '−2.5': -2.5,
    ' 12 ': 12,
  };
  for (const language of ['en', 'es']) {
    store.language = language;
    assert.deepEqual(Object.fromEntries(Object.keys(cases).map((text) => [text, read(text)])), cases);
  }
});

test('what is no number is none', () => {
  for (const text of [
    '',
    'often',
    '12..5',
    '1,2,3',
    '3,50,0',
    '1,23,456',
    '0,000,5',
    '1e3',
    '0x10',
    '3 500',
    '1.234,567.8',
    'Infinity',
  ])
    assert.equal(read(text), null, text);
});

/** Numbers with up to four decimals, of all sizes, the same at each run. @returns {Generator<number>} */
function* someNumbers() {
  let seed = 20_261_130;
  for (let each = 0; each < 2000; each += 1) {
    seed = (Math.imul(seed, 1_103_515_245) + 12_345) >>> 0;
    yield ((each % 2 ? -1 : 1) * (seed % 10 ** (1 + (each % 10)))) / 10 ** (each % 5);
  }
}

test('however a language writes a number, it is that one or asked about; and what is offered is clear', () => {
  let asked = 0;
  for (const language of ['en', 'es']) {
    store.language = language;
    for (const useGrouping of [true, false]) {
      const format = new Intl.NumberFormat(language, { maximumFractionDigits: 4, useGrouping });
      for (const wanted of someNumbers()) {
        const found = typedNumber(format.format(wanted));
        assert.ok(found, format.format(wanted));
        const read = found.unclear
          ? Object.values(found.unclear).map((text) => typedNumber(text)?.number)
          : [found.number];
        assert.ok(read.includes(wanted) && !read.includes(undefined), `${wanted}: ${read}`);
        asked += found.unclear ? 1 : 0;
      }
    }
  }
  assert.ok(asked > 50, String(asked));
});

test('in a row of numbers a comma without a space is asked about where it could part thousands', () => {
  assert.deepEqual(unclearInRow('3,500, 4,000'), { whole: '3500', decimal: '3, 500' });
  assert.deepEqual(unclearInRow('350, 1,050'), { whole: '1050', decimal: '1, 050' });
  for (const text of ['350, 500, 700', '350,500,700', '3500 4000', '3500; 4000', '1, 500', '1,2,3'])
    assert.equal(unclearInRow(text), null, text);
});

test('a field says what is wrong with what was typed, and within what it lies', () => {
  const field = /** @type {any} */ ({
    title: 'Hours burned',
    min: 0,
    max: 1_000_000,
    of: { json: 'integer', example: '12' },
  });
  assert.deepEqual(numberFor(field, ' '), { problem: null });
  assert.deepEqual(numberFor(field, '9000'), { number: 9000, problem: null });
  assert.equal(numberFor(field, '9,000').problem?.code, 'field.mark-unclear');
  assert.equal(numberFor(field, 'about 9000').problem?.code, 'field.not-a-number');
  assert.equal(numberFor(field, '9000.5').problem?.code, 'field.not-whole');
  assert.equal(numberFor(field, '-1').problem?.code, 'field.too-small');
});

// 40 °C = 104 °F and −40 °C = −40 °F by definition of the scales; 30 fc = 322.9 lx: NIST SP 811, B.8.
test('a temperature and a light can be typed in the other unit, and are kept in that of records', () => {
  const cases = {
    40: 40,
    '40 C': 40,
    '104 F': 40,
    '104°f': 40,
    '-40 °F': -40,
    '90F': 32.2,
    '32,2': 32.2,
    '32 f': 0,
  };
  const found = Object.keys(cases).map((text) => [text, typedFor({ unit: '°C' }, text)?.number]);
  assert.deepEqual(Object.fromEntries(found), cases);
  assert.equal(typedFor({ unit: 'lx' }, '30 fc')?.number, 323);
  assert.equal(typedFor({ unit: 'lx' }, '300 lux')?.number, 300);
  assert.deepEqual(typedFor({ unit: 'lx' }, '1,200 lx')?.unclear?.whole, '1200');
  for (const [unit, text] of [
    ['°C', '90 K'],
    ['°C', 'F'],
    ['lx', '30 F'],
    ['W', '30 F'],
  ])
    assert.equal(typedFor({ unit }, text), null, text);
});

test('who reads a tape in inches sees both; who reads millimetres sees what records hold', () => {
  store.opened.set('s', /** @type {any} */ ({ units: 'in' }));
  store.shown = 's';
  assert.equal(inOtherText(32.2, '°C'), ' (90 °F)');
  assert.equal(inOtherText(-17.8, '°C'), ' (0 °F)');
  assert.equal(inOtherText(323, 'lx'), ' (30 fc)');
  assert.equal(inOtherText(5, 'W'), '');
  store.opened.set('s', /** @type {any} */ ({ units: 'mm' }));
  assert.equal(inOtherText(32.2, '°C'), '');
});
