// A length said aloud: understood as a tape is read aloud, never guessed; read back; saved by a yes only.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { parseLength } from '../../pwa/rules/measuring/lengths.js';
import { readBack, spokenIn } from '../../pwa/views/inputs/spoken.js';

const { spokenLength, yesOrNo } = /** @type {import('../../pwa/views/inputs/spoken.js').Spoken} */ (
  spokenIn('en-US')
);
const es = /** @type {import('../../pwa/views/inputs/spoken.js').Spoken} */ (spokenIn('es'));

const SAID = {
  '47 and 5/16': '47 5/16',
  '47 5/16': '47 5/16',
  'forty-seven and five sixteenths': '47 5/16',
  'forty seven five sixteenths': '47 5/16',
  '47 inches and 3/16': '47 3/16',
  '47 and a half': '47 1/2',
  '47 and a quarter inches': '47 1/4',
  'Forty seven and three quarters.': '47 3/4',
  '47 and 11 sixteenths': '47 11/16',
  '47 and three thirty seconds': '47 3/32',
  'ninety-three and one sixty-fourth': '93 1/64',
  'forty seven': '47',
  '48 inches': '48',
  '1198.5 mm': '1198.5 mm',
  '1,198 millimeters': '1198 mm',
  'eleven ninety eight point five millimetres': '1198.5 mm',
  'twelve hundred millimetres': '1200 mm',
  'one thousand one hundred and ninety-eight millimetres': '1198 mm',
  'twelve hundred and five millimetres': '1205 mm',
  'one thousand two hundred millimetres': '1200 mm',
};

test('a length is understood as a tape is read aloud', () => {
  assert.deepEqual(Object.fromEntries(Object.keys(SAID).map((each) => [each, spokenLength(each)])), SAID);
  const lengths = Object.values(SAID).map((text) => parseLength(text, 'in').ticks);
  assert.ok(lengths.length > 0 && lengths.every((ticks) => Number(ticks) > 0));
});

test('what is no length is not guessed at', () => {
  for (const said of [
    'hello',
    '',
    '47 516',
    'seven five',
    'nine eleven twelve',
    '47 and something',
    'forty seven and five sixteenths millimetres',
    'point five',
  ])
    assert.equal(spokenLength(said), null, said);
});

/** @param {string} language */
const wordsOf = (language) =>
  JSON.parse(
    readFileSync(
      new URL(`../../server/spanwalk/spec/words.${language}/ladder.json`, import.meta.url),
      'utf8',
    ),
  );

/** A sentence as the words file has it. @param {{code: string, facts: Record<string, any>}} told @param {string} [language] @returns {string} */
const sentence = ({ code, facts }, language = 'en') =>
  wordsOf(language)[code].replace(/{(\w+)}/g, (_, name) =>
    facts[name].code ? sentence(facts[name], language) : facts[name],
  );

test('it is read back in words that a person checks by ear, and every part of an inch has them', () => {
  assert.equal(sentence(readBack('47 5/16')), '47 and 5 sixteenths inches');
  assert.equal(sentence(readBack('47 1/16')), '47 and 1 sixteenth inches');
  assert.equal(sentence(readBack('47 1/2')), '47 and a half inches');
  assert.equal(sentence(readBack('1198.5 mm')), '1198.5 millimetres');
  const all = [2, 4, 8, 16, 32, 64].flatMap((under) => [`47 1/${under}`, `47 ${under - 1}/${under}`]);
  assert.deepEqual(
    all.map((text) => spokenLength(sentence(readBack(text)))),
    all,
  );
});

test('only a clear yes is a yes', () => {
  assert.equal(yesOrNo('Yes.'), true);
  assert.equal(yesOrNo('yeah save it'), true);
  assert.equal(yesOrNo('no'), false);
  assert.equal(yesOrNo('no, yes'), null);
  assert.equal(yesOrNo('forty seven'), null);
});

test('a yes that is denied is never a yes', () => {
  for (const said of [
    "that's not right",
    'not correct',
    "don't save",
    'do not save it',
    "it isn't right",
    'incorrect',
  ])
    assert.notEqual(yesOrNo(said), true, said);
  for (const said of ['no es correcto', 'no guardar', 'incorrecto', 'así no', 'sí, no'])
    assert.notEqual(es.yesOrNo(said), true, said);
});

for (const language of ['en', 'es'])
  test(`what people are told to say in ${language} is understood there`, () => {
    const { spokenLength: heard, yesOrNo: answered } =
      /** @type {import('../../pwa/views/inputs/spoken.js').Spoken} */ (spokenIn(language));
    const words = wordsOf(language);
    const example = /: ([^:]+)\.$/.exec(words['ladder.not-understood'])?.[1] ?? '';
    assert.equal(heard(example), '47 5/16', example);
    const toSay = /(?:Say|Diga) «?(\p{L}+)/u.exec(words['ladder.heard'])?.[1] ?? '';
    assert.equal(answered(toSay), true, toSay);
  });

const DICHO = {
  '47 y 5/16': '47 5/16',
  'cuarenta y siete y cinco dieciseisavos': '47 5/16',
  'cuarenta y siete cinco dieciseisavos': '47 5/16',
  '47 pulgadas y 3/16': '47 3/16',
  'cuarenta y siete y media': '47 1/2',
  'cuarenta y siete y media pulgadas': '47 1/2',
  'cuarenta y siete y un cuarto': '47 1/4',
  'Cuarenta y siete y tres cuartos.': '47 3/4',
  'cuarenta y siete pulgadas y tres octavos': '47 3/8',
  'treinta y cinco octavos': '30 5/8',
  'noventa y tres y un sesentaicuatroavo': '93 1/64',
  'cinco dieciseisavos de pulgada': '5/16',
  'cuarenta y ocho pulgadas': '48',
  '1198,5 mm': '1198.5 mm',
  '1198.5 milímetros': '1198.5 mm',
  '1.198,5 mm': '1198.5 mm',
  '1,198.5 mm': '1198.5 mm',
  'mil ciento noventa y ocho coma cinco milímetros': '1198.5 mm',
  'mil doscientos milímetros': '1200 mm',
  'mil doscientos cinco milímetros': '1205 mm',
  'quinientas noventa pulgadas': '590',
  'dos mil cuatrocientos dieciséis milímetros': '2416 mm',
  'cien milímetros': '100 mm',
};

test('a length said in Spanish is understood, with accents and without', () => {
  assert.deepEqual(
    Object.fromEntries(Object.keys(DICHO).map((each) => [each, es.spokenLength(each)])),
    DICHO,
  );
  assert.equal(es.spokenLength('mil milimetros'), '1000 mm');
});

test('what could be two lengths in Spanish, or is none, is not guessed at', () => {
  const two = ['treinta y cinco sesentaicuatroavos', '1.198 mm', '1,198 mm'];
  for (const said of [
    ...two,
    '',
    'hola',
    'siete cinco',
    'cuarenta y',
    'mil mil',
    'cuarenta y siete y cinco dieciseisavos milímetros',
    'coma cinco',
  ])
    assert.equal(es.spokenLength(said), null, said);
});

test('every whole number is understood as Spanish writes it out', () => {
  const written = new Intl.NumberFormat('es', { useGrouping: false });
  for (let number = 1; number < 4000; number += 1) {
    assert.equal(es.spokenLength(outInSpanish(number)), String(number), outInSpanish(number));
    assert.equal(es.spokenLength(`${written.format(number)} mm`), `${number} mm`);
  }
});

test('what is read back in Spanish is understood as the same', () => {
  assert.equal(sentence(readBack('47 5/16'), 'es'), '47 y 5 dieciseisavos pulgadas');
  const all = [2, 4, 8, 16, 32, 64].flatMap((under) => [`47 1/${under}`, `47 ${under - 1}/${under}`]);
  assert.deepEqual(
    all.map((text) => es.spokenLength(sentence(readBack(text), 'es'))),
    all,
  );
});

test('a clear yes in Spanish is a yes, and each language has its own', () => {
  assert.equal(es.yesOrNo('Sí, guárdalo.'), true);
  assert.equal(es.yesOrNo('no'), false);
  assert.equal(es.yesOrNo('sí, no'), null);
  assert.equal(es.yesOrNo('cuarenta'), null);
  assert.equal(spokenIn('es-MX')?.yesOrNo('yes'), null);
  assert.equal(spokenIn('fr'), null);
});

/**
 * A number in words, by the rules of the Royal Spanish Academy's orthography (2010) for numerals, from memory.
 *
 * @param {number} number below a million @returns {string}
 */
function outInSpanish(number) {
  const small =
    'cero uno dos tres cuatro cinco seis siete ocho nueve diez once doce trece catorce quince dieciséis diecisiete dieciocho diecinueve veinte veintiuno veintidós veintitrés veinticuatro veinticinco veintiséis veintisiete veintiocho veintinueve'.split(
      ' ',
    );
  const tens = 'treinta cuarenta cincuenta sesenta setenta ochenta noventa'.split(' ');
  const hundreds =
    'ciento doscientos trescientos cuatrocientos quinientos seiscientos setecientos ochocientos novecientos'.split(
      ' ',
    );
  if (number < 30) return small[number];
  if (number < 100)
    return tens[Math.floor(number / 10) - 3] + (number % 10 ? ` y ${small[number % 10]}` : '');
  if (number === 100) return 'cien';
  if (number < 1000)
    return hundreds[Math.floor(number / 100) - 1] + (number % 100 ? ` ${outInSpanish(number % 100)}` : '');
  const before = number < 2000 ? 'mil' : `${outInSpanish(Math.floor(number / 1000))} mil`;
  return before + (number % 1000 ? ` ${outInSpanish(number % 1000)}` : '');
}
