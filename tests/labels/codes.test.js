import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { parseCode, spaced } from '../../pwa/rules/codes.js';

const cases = JSON.parse(readFileSync(new URL('../vectors/codes.json', import.meta.url), 'utf8'));

test('a code is read, or refused with the same reason, as on the server', () => {
  for (const { text, code, error } of cases) {
    const read = parseCode(text);
    assert.equal(read.code, code, text);
    assert.equal(read.error?.code, error, text);
  }
});

test('a code is shown in groups that are easy to say', () => {
  assert.equal(spaced('0000016JD'), '0000 016J D');
});
