// The same length and the same sentence, read by people who chose differently: one record, no second copy of it.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { store } from '../../pwa/store/store.js';
import { addSiteTables, speak, sums, withFieldTypes } from '../../pwa/store/tables.js';
import { parseLength } from '../../pwa/rules/measuring/lengths.js';
import { asTyped } from '../../pwa/views/inputs/fields.js';
import {
  amountText,
  enteredText,
  isOfRoom,
  keptLengthText,
  lengthText,
  unitTyped,
} from '../../pwa/views/words.js';

const INCH = 8128;
/** 47 1/4 in = 1,200.15 mm, and 10 ft = 3,048 mm, by 25.4 mm to the inch. */
const CAVITY = (47 * 4 + 1) * (INCH / 4);
const ROOM = 120 * INCH;
const GAP = INCH / 4;

/** @param {string | null} own @param {'in' | 'mm'} ofSite */
function reads(own, ofSite) {
  store.current = /** @type {any} */ ({ id: 'p', name: 'p', sites: [], opened: [], units: own });
  store.shown = 's';
  store.opened.set('s', /** @type {any} */ ({ units: ofSite }));
}

test('a length stands first in the units that a person chose, else in those of the site', () => {
  /** @type {Array<[string | null, 'in' | 'mm', RegExp]>} */
  const cases = [
    [null, 'in', /^47 1\/4 in \(1,200\.\d mm\)$/],
    [null, 'mm', /^1,200\.\d mm \(47 1\/4 in\)$/],
    ['millimetres', 'in', /^1,200\.\d mm \(47 1\/4 in\)$/],
    ['inches', 'mm', /^47 1\/4 in \(1,200\.\d mm\)$/],
  ];
  assert.equal(cases.length, 4);
  for (const [own, ofSite, wanted] of cases) {
    reads(own, ofSite);
    assert.match(lengthText(CAVITY), wanted);
  }
  reads('millimetres', 'in');
  assert.equal(lengthText(ROOM), '3,048.0 mm (10 ft)');
});

test('a gap is told in millimetres, and in inches first to who chose inches', () => {
  reads(null, 'in');
  assert.match(lengthText(GAP), /^6\.\d mm$/);
  reads('inches', 'mm');
  assert.match(lengthText(GAP), /^1\/4 in \(6\.\d mm\)$/);
});

test('a length comes back in the unit it went in, unless its reader chose another', () => {
  const entered = /** @type {Array<[string, 'in' | 'mm', string]>} */ ([
    ['2 3/4', 'in', '2 3/4 in (69.9 mm)'],
    ['70 mm', 'in', '70 mm'],
    ['540 mm', 'in', '540 mm (≈ 21 1/4 in)'],
    ['21 1/4', 'mm', '21 1/4 in (539.8 mm)'],
    ['0.5 mm', 'in', '0.5 mm'],
  ]);
  assert.equal(entered.length, 5);
  for (const [text, ofSite, wanted] of entered) {
    reads(null, ofSite);
    assert.equal(keptLengthText(Number(parseLength(text, 'in').ticks)), wanted);
  }
  reads('millimetres', 'in');
  assert.equal(keptLengthText(Number(parseLength('2 3/4', 'in').ticks)), '69.9 mm (2 3/4 in)');
});

test('a room comes back in the unit it went in too, also where both tapes show it', () => {
  // 59 ft 5/8 in is 17,999.1 mm and 59 ft 11/16 in 18,000.7 mm; 9 ft = 2,743.2 mm; 10 ft = 3,048 mm; 5 in = 127 mm.
  const entered = /** @type {Array<[string, 'in' | 'mm', string]>} */ ([
    ['18000 mm', 'in', '18,000 mm (≈ 59 ft 11/16 in)'],
    ['18 m', 'in', '18,000 mm (≈ 59 ft 11/16 in)'],
    ["9'", 'mm', '108 in (2,743.2 mm)'],
    ["59' 1", 'mm', '59 ft 1 in (18,008.6 mm)'],
    ['2743.2 mm', 'in', '108 in (2,743.2 mm)'],
    // A whole number on both tapes: as the site has it.
    ["10'", 'in', '10 ft (3,048 mm)'],
    ["10'", 'mm', '3,048 mm (10 ft)'],
    ['5', 'mm', '127 mm (5 in)'],
  ]);
  assert.equal(entered.length, 8);
  for (const [text, ofSite, wanted] of entered) {
    reads(null, ofSite);
    assert.equal(
      keptLengthText(Number(parseLength(text, 'in').ticks)),
      wanted,
      `${text} on a site in ${ofSite}`,
    );
  }
});

test('while it is typed, what it comes to stands in the unit that is typed', () => {
  reads(null, 'in');
  const read = parseLength('10160 mm', 'in');
  assert.equal(keptLengthText(Number(read.ticks), unitTyped(read.unit)), '10,160 mm (33 ft 4 in)');
  const feet = parseLength("33' 4", 'in');
  assert.equal(keptLengthText(Number(feet.ticks), unitTyped(feet.unit)), '33 ft 4 in (10,160 mm)');
});

test('lengths and heights of a room are told alike: in feet and inches, and in millimetres that somebody measured', () => {
  // By 25.4 mm to the inch: 2,700 mm = 106.30 in, 8 ft 10 in = 2,692.4 mm, 6,000 mm = 236.22 in, 30 in = 762 mm.
  const fields = { height: { max: 9600000 }, workPlane: { max: 640000 }, length: { max: 32000000 } };
  const entered = /** @type {Array<[keyof typeof fields, string, string]>} */ ([
    ['height', '2700 mm', '2,700 mm (≈ 8 ft 10 5/16 in)'],
    ['height', `8' 10`, '8 ft 10 in (2,692 mm)'],
    ['length', '6000 mm', '6,000 mm (≈ 19 ft 8 1/4 in)'],
    ['length', '6000.5 mm', '6,000.5 mm (≈ 19 ft 8 1/4 in)'],
    ['workPlane', '30 in', '30 in (762 mm)'],
  ]);
  assert.equal(entered.length, 5);
  reads(null, 'in');
  for (const [field, text, wanted] of entered) {
    const { ticks, unit } = parseLength(text, 'in');
    const ofRoom = isOfRoom({ ...fields[field], of: { ticks: true } });
    assert.equal(keptLengthText(Number(ticks), unitTyped(unit), ofRoom), wanted);
  }
});

test('a room is typed as long as it may be, a fixture no longer than a tape reaches', () => {
  const most = 32_000_000;
  assert.equal(parseLength('27 m', 'in', false, most).ticks, 27_000 * 320);
  assert.equal(parseLength('100 m', 'in', false, most).ticks, most);
  const over = parseLength('100.1 m', 'in', false, most).error;
  assert.deepEqual([over?.code, over?.facts.most_ticks], ['length.too-long', most]);
  assert.equal(parseLength('27 m', 'in').error?.code, 'length.too-long');
});

test('a form shows a length so that saving it again changes nothing', () => {
  const ticks = ['2 3/4', '45 3/16', '70 mm', '1147.8 mm', '12.7 mm'].map((text) =>
    Number(parseLength(text, 'in').ticks),
  );
  const again = (/** @type {'in' | 'mm'} */ units) =>
    ticks.map((each) => parseLength(asTyped(each, units), units).ticks);
  assert.deepEqual(again('in'), ticks);
  assert.deepEqual(again('mm'), ticks);
  assert.equal(asTyped(ticks[0], 'mm'), '2 3/4 in');
});

test('a bare number that was entered says its unit to who would read it in another', () => {
  reads('millimetres', 'in');
  assert.equal(enteredText('47', 'in'), '47 in');
  assert.equal(enteredText('1200 mm', 'in'), '1200 mm');
  reads(null, 'in');
  assert.equal(enteredText('47', 'in'), '47');
});

test('an amount is written as the region of its reader writes it', () => {
  store.language = 'en-GB';
  assert.equal(amountText(1234567), '1,234,567');
  // A language that comes later: German groups by points (Common Locale Data Repository).
  store.language = 'de';
  assert.equal(amountText(1234567), '1.234.567');
  store.language = 'en';
});

const SPEC = new URL('../../server/spanwalk/spec/records.json', import.meta.url);

/** A server that has the words of one language and the sentences of sites. */
const answers = {
  '/app/words/xx.json': { hello: 'Alo', later: 'Poste', 'spec.room': 'Rumu' },
  '/app/words-of-sites.json': { later: 'Later', last: 'Last' },
};
const fetcher = /** @type {typeof fetch} */ (
  async (address) => {
    const found = answers[/** @type {keyof typeof answers} */ (String(address))];
    return new Response(JSON.stringify(found ?? {}), { status: found ? 200 : 404 });
  }
);

test('another language is put over the first, over what comes with a site too, and taken off again', async () => {
  const tables = /** @type {any} */ ({
    spec: withFieldTypes(JSON.parse(readFileSync(SPEC, 'utf8'))),
    words: { hello: 'Hello' },
    reference: {},
    languages: ['en', 'xx'],
  });
  assert.equal(await speak(tables, 'xx', fetcher, ''), 'xx');
  assert.deepEqual([tables.words.hello, tables.spec.records.room.title], ['Alo', 'Rumu']);
  await addSiteTables(tables, fetcher, '');
  assert.deepEqual([tables.words.later, tables.words.last], ['Poste', 'Last']);
  assert.equal(await speak(tables, null, fetcher, ''), 'en');
  assert.deepEqual(
    [tables.words.hello, tables.words.later, tables.spec.records.room.title],
    ['Hello', 'Later', 'Room'],
  );
});

test('numbers that came as differences are summed up in rows and between them', () => {
  assert.deepEqual(sums([10, 2, -3]), [10, 12, 9]);
  assert.deepEqual(
    sums([
      [10, 2],
      [1, 1],
    ]),
    [
      [10, 12],
      [11, 14],
    ],
  );
  assert.deepEqual(sums([]), []);
});

test('what does not come of a site is not there, and is asked for again', async () => {
  const tables = /** @type {any} */ ({ words: {}, reference: {} });
  await addSiteTables(tables, fetcher, '');
  assert.deepEqual(tables.reference, {});
  const come = { prediction: { n: [1], factors: [[[5, 1]]] }, standing: { rows: [] } };
  const later = /** @type {typeof fetch} */ (async () => new Response(JSON.stringify(come)));
  await addSiteTables(tables, later, '');
  assert.deepEqual(tables.reference, { prediction: { n: [1], factors: [[[5, 6]]] }, standing: { rows: [] } });
});

test('a language that does not come leaves the first', async () => {
  const tables = /** @type {any} */ ({
    spec: { records: {} },
    words: { hello: 'Hello' },
    languages: ['en', 'yy'],
  });
  assert.equal(await speak(tables, 'yy', fetcher, ''), 'en');
  assert.equal(await speak(tables, 'not-here', fetcher, ''), 'en');
  assert.equal(tables.words.hello, 'Hello');
});
