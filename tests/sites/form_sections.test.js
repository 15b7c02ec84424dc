// The parts of a long form: which are open at first, and what each says of itself while it is folded.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { store } from '../../pwa/store/store.js';
import { enteredText, notSaved, openAtFirst } from '../../pwa/views/forms/sections.js';

const WORDS = '../../server/spanwalk/spec/words.en/desk.json';
store.tables.words = JSON.parse(readFileSync(new URL(WORDS, import.meta.url), 'utf8'));

const number = { json: 'number', input: 'number' };
/** @type {any} */
const FIELDS = {
  labour: { title: 'Labour', unit: 'USD', of: number },
  lift: { title: 'Platform', unit: 'USD', of: number },
};
const SECTIONS = ['energy', 'work', 'tax'].map((name) => ({ title: name, about: '', fields: [name] }));
const nothing = new Set();

test('a fold says that nothing is entered, or how much and what', () => {
  assert.equal(enteredText(FIELDS, {}), 'Nothing entered of 2.');
  assert.equal(enteredText(FIELDS, { labour: 0 }), '1 of 2 entered. Labour: 0 USD');
  assert.equal(enteredText(FIELDS, { labour: 68, lift: 240 }), '2 of 2 entered. Labour: 68 USD · Platform: 240 USD');
});

test('a blank form begins at its first part; one with entries is all folded, but for what is to be minded', () => {
  assert.deepEqual(openAtFirst(SECTIONS, {}, nothing), [true, false, false]);
  assert.deepEqual(openAtFirst(SECTIONS, { work: 1 }, nothing), [false, false, false]);
  assert.deepEqual(openAtFirst(SECTIONS, { work: 1 }, new Set(['tax'])), [false, false, true]);
});

test('what is typed and not saved is told field by field: another value, one taken out, one half typed', () => {
  assert.deepEqual([...notSaved({ energy: 1, work: 2 }, { energy: 1, work: 2 }, [])], []);
  assert.deepEqual([...notSaved({ energy: 1, work: 2 }, { energy: 1, work: 3 }, [])], ['work']);
  assert.deepEqual([...notSaved({ energy: 1, work: 2 }, { energy: 1 }, [])], ['work']);
  assert.deepEqual([...notSaved({ energy: 1 }, { energy: 1, tax: 8 }, [])], ['tax']);
  assert.deepEqual([...notSaved({ energy: 1 }, { energy: 1 }, ['work'])], ['work']);
});
