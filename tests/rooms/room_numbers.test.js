// Many rooms from little typing: ranges, lists, tables pasted from a spreadsheet; floors copied with their numbers shifted.

import assert from 'node:assert/strict';
import test from 'node:test';
import {
  nextName,
  nextNumber,
  proposedShift,
  readRooms,
  sameNumber,
  shifted,
} from '../../pwa/views/rooms/room_numbers.js';

/** @param {string} text */
const numbers = (text) => readRooms(text).rooms.map(({ number }) => number);
/** @param {string} text */
const pairs = (text) => readRooms(text).rooms.map(({ number, name }) => [number, name]);
/** @param {string} text */
const codes = (text) => readRooms(text).problems.map(({ code }) => code);

test('a range of numbers gives each of them, with either dash, dots or a word between', () => {
  for (const text of ['201–204', '201-204', '201 – 204', '201..204', '201 to 204'])
    assert.deepEqual(numbers(text), ['201', '202', '203', '204'], text);
});

test('a range keeps the noughts before a number', () => {
  assert.deepEqual(numbers('008–011'), ['008', '009', '010', '011']);
  assert.deepEqual(numbers('1.09–1.11'), ['1.09', '1.10', '1.11']);
});

test('a range of letters after a number gives each letter', () => {
  assert.deepEqual(numbers('201A–D'), ['201A', '201B', '201C', '201D']);
  assert.deepEqual(numbers('201a-201c'), ['201a', '201b', '201c']);
});

test('letters before the numbers stay, whether they stand once or twice', () => {
  assert.deepEqual(numbers('B1-B3'), ['B1', 'B2', 'B3']);
  assert.deepEqual(numbers('B1–3'), ['B1', 'B2', 'B3']);
  assert.deepEqual(numbers('B-1 – B-3'), ['B-1', 'B-2', 'B-3']);
});

test('a number with a dash in it is no range', () => {
  assert.deepEqual(numbers('G-01'), ['G-01']);
});

test('lists hold ranges and single rooms, a name may stand behind a single one', () => {
  assert.deepEqual(pairs('201–202, 205 Boiler room\n206'), [
    ['201', ''],
    ['202', ''],
    ['205', 'Boiler room'],
    ['206', ''],
  ]);
});

test('a dash between a number and a name is neither', () => {
  assert.deepEqual(pairs('201 – Office\n202 - Store'), [
    ['201', 'Office'],
    ['202', 'Store'],
  ]);
});

test('what has no digit in it is a name', () => {
  assert.deepEqual(pairs('Lobby\nNorth stair'), [
    ['', 'Lobby'],
    ['', 'North stair'],
  ]);
});

test('columns pasted from a spreadsheet are numbers and names, commas in a name stay', () => {
  assert.deepEqual(pairs('201\tStore, cold\r\n202\tOffice\n\n'), [
    ['201', 'Store, cold'],
    ['202', 'Office'],
  ]);
});

test('heads of pasted columns say which is which, in any order', () => {
  assert.deepEqual(pairs('Room name\tArea\tRoom no.\nOffice\t22\t201'), [['201', 'Office']]);
  assert.deepEqual(pairs('Nr;Name\n201;Office'), [['201', 'Office']]);
});

test('a number in quotes, as some tables paste it, is the number', () => {
  assert.deepEqual(pairs('"201"\t"Office ""A"""'), [['201', 'Office "A"']]);
});

test('a range that runs backwards, or too far, is said with its line, and the rest is read', () => {
  const told = readRooms('201\n218–202\n1-5000');
  assert.deepEqual(
    told.problems.map(({ line, code }) => [line, code]),
    [
      [2, 'rooms.backwards'],
      [3, 'rooms.too-far'],
    ],
  );
  assert.deepEqual(
    told.rooms.map(({ number }) => number),
    ['201'],
  );
});

test('more rooms than one floor can have are refused as a whole', () => {
  const lines = Array.from({ length: 1001 }, (_, at) => `R${at}x`).join('\n');
  assert.deepEqual(codes(lines), ['rooms.too-many']);
  assert.equal(readRooms(lines).rooms.length, 0);
});

test('two numbers are the same whatever their case and the blanks around them', () => {
  assert.equal(sameNumber(' 201a '), sameNumber('201A'));
  assert.notEqual(sameNumber('201'), sameNumber('0201'));
});

test('the numbers of a copied floor are shifted by what they begin with', () => {
  assert.equal(shifted('218A', '2', '3'), '318A');
  assert.equal(shifted('B12', '2', '3'), 'B12');
  assert.equal(shifted('2', '', 'N'), 'N2');
});

test('the shift is proposed where all numbers of the floor begin alike', () => {
  assert.deepEqual(proposedShift(['201', '218', '201A']), { from: '2', to: '3' });
  assert.deepEqual(proposedShift(['1201', '1218']), { from: '12', to: '13' });
  assert.deepEqual(proposedShift(['P01', 'P12']), { from: 'P', to: '' });
  assert.deepEqual(proposedShift(['901', '912']), { from: '9', to: '10' });
  assert.deepEqual(proposedShift(['201', '301']), { from: '', to: '' });
});

test('the next floor has the next number in its name', () => {
  assert.equal(nextName('Level 2'), 'Level 3');
  assert.equal(nextName('Floor 9 north'), 'Floor 10 north');
  assert.equal(nextName('Loft'), '');
});

test('the next room bears one more, or the next letter, past what is in use', () => {
  assert.equal(nextNumber('206', ['206']), '207');
  assert.equal(nextNumber('G09', ['G09', 'g10']), 'G11');
  assert.equal(nextNumber('2.99', []), '2.100');
  assert.equal(nextNumber('206A', ['206a']), '206B');
  assert.equal(nextNumber('Loft', []), '');
  assert.equal(nextNumber(undefined, ['1']), '');
});
