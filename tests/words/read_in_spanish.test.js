// Lengths, numbers, counts and the few English words inside texts that are kept, as who reads Spanish has them; what is kept
// stays. How Spanish writes numbers: Unicode CLDR, as Intl has it; by the Real Academia four digits are not parted (from memory).

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test, { afterEach, beforeEach } from 'node:test';
import { parseLength } from '../../pwa/rules/measuring/lengths.js';
import { store } from '../../pwa/store/store.js';
import { isReviewed, speak } from '../../pwa/store/tables.js';
import { arrangementText, unitText } from '../../pwa/views/coded_text.js';
import { choiceText, counted, lengthText, say } from '../../pwa/views/words.js';

/** @param {string} name @returns {Record<string, string>} */
const spanish = (name) =>
  JSON.parse(readFileSync(new URL(`../../server/spanwalk/spec/words.es/${name}.json`, import.meta.url), 'utf8'));
const WORDS = { ...spanish('units'), ...spanish('choices'), ...spanish('page'), ...spanish('notice') };
const MM = 320;

beforeEach(() => {
  store.current = /** @type {any} */ ({ id: 'p', name: 'p', sites: [], opened: [], units: 'millimetres' });
  store.language = 'es';
  store.tables.words = { ...WORDS, 'counted.room.one': '{count} sala', 'counted.room.other': '{count} salas' };
});
afterEach(() => {
  store.language = 'en';
  store.tables.words = {};
});

test('a length has the decimal comma, is not parted, and is read again as the same length', () => {
  assert.equal(lengthText(Math.round(1147.8 * MM)), '1147,8 mm (≈ 45 3/16 in)');
  assert.equal(parseLength('1147,8', 'mm').ticks, Math.round(1147.8 * MM));
  store.language = 'en';
  assert.equal(lengthText(Math.round(1147.8 * MM)), '1,147.8 mm (≈ 45 3/16 in)');
});

test('a fact that is no whole number has the decimal comma, and a count its word', () => {
  store.tables.words.wanted = '{lux} lx, {n}';
  assert.equal(say('wanted', { lux: 12.5, n: 3 }), '12,5 lx, 3');
  assert.equal(counted(1, 'room'), '1 sala');
  assert.equal(counted(0, 'room'), '0 salas');
  assert.equal(counted(1_000_000, 'room'), '1000000 salas');
});

test('the name of an arrangement is told in Spanish wherever it is a fact, and is kept as it was', () => {
  const cases = [
    ['2 × TERN-4 in rows 1, 2; HERON-80 at 1400 mA', '2 × TERN-4 en las filas 1, 2; HERON-80 a 1400 mA'],
    ['TERN-4 in row 1; 2 × HERON-20 at 350 mA for both bodies', 'TERN-4 en la fila 1; 2 × HERON-20 a 350 mA para ambos cuerpos'],
    ['B in rows 1, 3; D at 700 mA, 2 in series on an output', 'B en las filas 1, 3; D a 700 mA, 2 en serie en una salida'],
    ['2 × B-4, fed from the neighbour', '2 × B-4, alimentada por la vecina'],
    ['Kept in row 3', 'Kept in row 3'],
  ];
  for (const [kept, told] of cases) {
    assert.equal(arrangementText(kept), told);
    assert.equal(choiceText(kept), told);
    store.language = 'en-GB';
    assert.equal(arrangementText(kept), kept);
    store.language = 'es';
  }
});

test('a unit in words is told in words, a sign stays', () => {
  assert.equal(unitText('per kW and month'), 'por kW y mes');
  assert.equal(unitText('kg CO₂e per kWh'), 'kg CO₂e por kWh');
  assert.equal(unitText('mA'), 'mA');
});

test('a state that rules write with a blank has the words of its code', () => {
  store.tables.words['choice.not-visited'] = 'no visitada';
  assert.equal(choiceText('not visited'), 'no visitada');
  store.tables.words['choice.not ready'] = 'no listo';
  assert.equal(choiceText('not ready'), 'no listo');
});

test('words that are not here leave English, and are not taken for reviewed once they are', async () => {
  const tables = /** @type {any} */ ({ spec: { records: {} }, words: { a: 'one' }, languages: ['en', 'es'] });
  const none = async () => new Response('', { status: 404 });
  assert.equal(await speak(tables, 'es', /** @type {any} */ (none), ''), 'en');
  assert.equal(tables.words.a, 'one');
  const come = async () => Response.json({ a: 'uno', 'notice.not-reviewed': 'x' });
  assert.equal(await speak(tables, 'es', /** @type {any} */ (come), ''), 'es');
  assert.deepEqual([tables.words.a, isReviewed(tables)], ['uno', false]);
  assert.equal(await speak(tables, 'en', /** @type {any} */ (come), ''), 'en');
  assert.deepEqual([tables.words.a, isReviewed(tables)], ['one', true]);
});

test('who reads the first language waits for no list of titles; after another language the titles are back', async () => {
  const spec = { spec: 1, field_types: {}, records: { room: { title: 'Room', facets: {} } } };
  const tables = /** @type {any} */ ({ spec, words: { hello: 'Hello' }, reference: {}, languages: ['en', 'es'] });
  const fetcher = async () => new Response(JSON.stringify({ hello: 'Hola', 'spec.room': 'Sala' }));
  assert.equal(await speak(tables, 'en', fetcher, ''), 'en');
  assert.equal(tables.first, undefined);
  assert.equal(await speak(tables, 'es', fetcher, ''), 'es');
  assert.deepEqual([tables.words.hello, spec.records.room.title], ['Hola', 'Sala']);
  assert.equal(await speak(tables, 'en', fetcher, ''), 'en');
  assert.deepEqual([tables.words.hello, spec.records.room.title], ['Hello', 'Room']);
});

test('a part of a record that is a fact is told by its title, whether it is there at all in words, and what is none stays', () => {
  store.tables.words.wanted = '{facet}';
  store.tables.words['sync.removed-or-not'] = 'Quitado o no';
  store.tables.spec = /** @type {any} */ ({ records: { room: { facets: {} }, group: { facets: { count: { title: 'Número' } } } } });
  assert.equal(say('wanted', { facet: 'count' }), 'Número');
  assert.equal(say('wanted', { facet: 'life' }), 'Quitado o no');
  assert.equal(say('wanted', { facet: 'mark' }), 'mark');
});
