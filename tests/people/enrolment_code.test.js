// Which of what a camera reads signs one in on this phone: an address of this server, with a secret.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { codeIn } from '../../pwa/views/people/enrolment_code.js';

const HERE = 'https://walk.example.org';
const SECRET = 'a'.repeat(43);

test('a code of this server is read for its secret, among others', () => {
  const texts = ['https://walk.example.org/l/ABCD', `${HERE}/enrol#${SECRET}`];
  assert.deepEqual(codeIn(texts, HERE), { secret: SECRET, elsewhere: false });
});

test('a code of another server signs nobody in here, and is said to be one', () => {
  assert.deepEqual(codeIn([`https://other.example.org/enrol#${SECRET}`], HERE), { secret: null, elsewhere: true });
});

for (const text of ['7K3M-9QX2', `${HERE}/enrol`, `${HERE}/join#${SECRET}`, `${HERE}/enrol#short`, 'javascript:alert(1)#'])
  test(`'${text}' is no such code`, () => {
    assert.deepEqual(codeIn([text], HERE), { secret: null, elsewhere: false });
  });
