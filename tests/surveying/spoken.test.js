// A length said aloud: understood as a tape is read aloud, never guessed; read back; saved by a yes only.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { parseLength } from '../../pwa/rules/measuring/lengths.js';
import { readBack, spokenLength, yesOrNo } from '../../pwa/views/inputs/spoken.js';

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
  assert.deepEqual(
    Object.fromEntries(Object.keys(SAID).map((each) => [each, spokenLength(each)])),
    SAID,
  );
  const lengths = Object.values(SAID).map((text) => parseLength(text, 'in').ticks);
  assert.ok(lengths.length > 0 && lengths.every((ticks) => Number(ticks) > 0));
});

test('what is no length is not guessed at', () => {
  for (const said of ['hello', '', '47 516', 'seven five', 'nine eleven twelve', '47 and something', 'forty seven and five sixteenths millimetres', 'point five'])
    assert.equal(spokenLength(said), null, said);
});

const words = JSON.parse(
  readFileSync(new URL('../../server/spanwalk/spec/words.en/ladder.json', import.meta.url), 'utf8'),
);

/** A sentence as the words file has it. @param {{code: string, facts: Record<string, any>}} told @returns {string} */
const sentence = ({ code, facts }) =>
  words[code].replace(/{(\w+)}/g, (_, name) => (facts[name].code ? sentence(facts[name]) : facts[name]));

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
