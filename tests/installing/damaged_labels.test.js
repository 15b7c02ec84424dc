// Damaged labels: symbols by the standard, words restored from their check words, pictures read together, and no wrong text.
// The symbols are another library's: tests/labels/test_damaged_symbols.py makes and checks them.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { checkWords, restored } from '../../pwa/views/scanning/scan_worker_codewords.js';
import { DamagedLabels } from '../../pwa/views/scanning/scan_worker_damaged.js';
import { textIn } from '../../pwa/views/scanning/scan_worker_label.js';
import { expectedSymbol, layoutOf, likelyFormats, sideOf } from '../../pwa/views/scanning/scan_worker_symbol.js';

/** @type {{version: number, level: string, mask: number, text: string, rows: string[]}[]} */
const symbols = JSON.parse(readFileSync(new URL('../vectors/qr_symbols.json', import.meta.url), 'utf8'));
const label = symbols[symbols.length - 1];
const ADDRESS = 'https://walk.example.org';

/** The darkness of a symbol's modules. @param {{rows: string[]}} symbol */
const softOf = ({ rows }) => Float32Array.from([...rows.join('')], (module) => (module === '#' ? 1 : -1));

/** Numbers as if by chance, the same each time. @param {number} seed */
function chance(seed) {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

/** A picture of a symbol before a wall, so many pixels a module. @param {{rows: string[]}} symbol @param {(x: number, y: number, light: number) => number} damage */
function pictured({ rows }, damage = (_x, _y, light) => light, px = 5) {
  const wide = (rows.length + 8) * px + 120;
  const lights = new Float32Array(wide * wide);
  for (let at = 0; at < lights.length; at += 1) {
    const [x, y] = [at % wide, Math.floor(at / wide)];
    const [column, row] = [Math.floor((x - 60) / px) - 4, Math.floor((y - 60) / px) - 4];
    const inside = Math.min(column, row) >= -4 && Math.max(column, row) < rows.length + 4;
    lights[at] = damage(
      (x - 60) / px - 4,
      (y - 60) / px - 4,
      inside ? (rows[row]?.[column] === '#' ? 35 : 225) : 110,
    );
  }
  return { lights, width: wide, height: wide };
}

test('symbols of each version and level are read as another library wrote them', () => {
  const read = symbols.map((symbol) => textIn(softOf(symbol), symbol.version, null));
  assert.ok(symbols.length > 24);
  assert.deepEqual(
    read,
    symbols.map(({ text }) => text),
  );
});

test('the format that fits best is the one that the symbol was made with', () => {
  const formats = symbols.map((symbol) => likelyFormats(layoutOf(symbol.version), softOf(symbol))[0]);
  assert.deepEqual(
    formats,
    symbols.map(({ level, mask }) => ({ level, mask })),
  );
});

test('a symbol has as many data modules as its words need, and up to seven over', () => {
  // 26, 44, 70, 100, 134 and 172 words (ISO/IEC 18004, from memory).
  const words = [1, 2, 3, 4, 5, 6].map((version) => layoutOf(version).data.length >> 3);
  assert.deepEqual(words, [26, 44, 70, 100, 134, 172]);
  assert.equal(sideOf(3), 29);
});

test('errors are restored up to half the check words, words known to be doubtful up to all of them', () => {
  const random = chance(5);
  const data = Uint8Array.from({ length: 17 }, () => Math.floor(256 * random()));
  const sound = Uint8Array.from([...data, ...checkWords(data, 18)]);
  const wrong = (/** @type {number} */ count) =>
    sound.map((each, place) => (place < count ? each ^ 0x5a : each));
  const places = Array.from({ length: 19 }, (_, place) => place);
  assert.deepEqual(restored(wrong(9), 18, []), sound);
  assert.equal(restored(wrong(10), 18, []), null);
  assert.deepEqual(restored(wrong(18), 18, places.slice(0, 18)), sound);
  assert.deepEqual(restored(wrong(11), 18, places.slice(0, 4)), sound);
  assert.equal(restored(wrong(12), 18, places.slice(0, 4)), null);
});

test('words that are known are never restored to something else, and spare check words stay over', () => {
  const data = Uint8Array.from({ length: 17 }, (_, place) => place);
  const sound = Uint8Array.from([...data, ...checkWords(data, 18)]);
  const wrong = sound.map((each, place) => (place === 3 ? each ^ 1 : each));
  assert.equal(
    restored(wrong, 18, [], (place) => place === 3),
    null,
  );
  const eight = sound.map((each, place) => (place < 8 ? each ^ 1 : each));
  assert.deepEqual(restored(eight, 18, []), sound);
  assert.equal(restored(eight, 18, [], undefined, 4), null);
});

test('random modules say nothing, whatever is expected of them', () => {
  const random = chance(11);
  const expected = expectedSymbol('HTTPS://WALK.EXAMPLE.ORG/F/', 9);
  assert.ok(expected);
  const words = new Int16Array(70).fill(-1);
  const read = Array.from({ length: 60 }, () => {
    const soft = Float32Array.from({ length: 29 * 29 }, () => 2 * random() - 1);
    return textIn(soft, 3, null) ?? textIn(soft, 3, { format: expected.format, words });
  });
  assert.deepEqual(
    read.filter((text) => text !== null),
    [],
  );
});

test('a label with a corner square and a tenth of it covered is read', () => {
  const covered = pictured(label, (x, y, light) =>
    Math.hypot(x - 2, y - 2) < 4 || Math.hypot(x - 20, y - 18) < 3.2 ? 90 : light,
  );
  assert.equal(new DamagedLabels(ADDRESS).read(covered), label.text);
});

test('a label of another installation, and a bare code, are read too', () => {
  assert.equal(new DamagedLabels('https://elsewhere.example').read(pictured(label)), label.text);
  const bare = symbols[symbols.length - 2];
  assert.equal(new DamagedLabels(ADDRESS).read(pictured(bare)), bare.text);
});

test('a code that is no label of ours is left to the other reader', () => {
  assert.equal(new DamagedLabels(ADDRESS).read(pictured(symbols[0])), null);
});

test('two pictures that cannot be read alone are read together, and not with another label', () => {
  // In each picture another part of the label is out of sight behind a mirrored lamp.
  const half = (/** @type {boolean} */ upper, seen = label) =>
    pictured(seen, (_x, y, light) => ((upper ? y > 8 && y < 15 : y > 14 && y < 21) ? 255 : light));
  const alone = [half(true), half(false)].map((each) =>
    new DamagedLabels('https://elsewhere.example').read(each),
  );
  assert.deepEqual(alone, [null, null]);
  const labels = new DamagedLabels('https://elsewhere.example');
  assert.equal(labels.read(half(true)), null);
  assert.equal(labels.read(half(false)), label.text);
  // What was seen before is no picture of this label: it may not help, nor be read.
  const next = { ...label, rows: label.rows.map((row) => [...row].reverse().join('')) };
  const mixed = new DamagedLabels('https://elsewhere.example');
  assert.deepEqual([mixed.read(half(true, next)), mixed.read(half(false))], [null, null]);
});
