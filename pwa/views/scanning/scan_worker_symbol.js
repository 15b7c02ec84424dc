// A QR symbol by its standard: which modules are always the same, in which order the others are filled, what they say.
// ISO/IEC 18004, from memory, versions 1 to 6: a label's address needs no more. Tested against symbols made by another library.

import { checkWords } from './scan_worker_codewords.js';

/** @typedef {'L' | 'M' | 'Q' | 'H'} Level how much of a symbol may be damaged */
/** @typedef {{level: Level, mask: number}} Format */

/** Modules round a symbol that are looked at too: they are light. */
export const QUIET = 2;
export const VERSIONS = [3, 2, 1, 4, 5, 6];
/** Code words in a symbol, by its version. */
const WORDS = [0, 26, 44, 70, 100, 134, 172];
/** Check words of a block and number of blocks, by level and version. @type {Record<Level, [number, number][]>} */
const BLOCKS = {
  L: [
    [0, 0],
    [7, 1],
    [10, 1],
    [15, 1],
    [20, 1],
    [26, 1],
    [18, 2],
  ],
  M: [
    [0, 0],
    [10, 1],
    [16, 1],
    [26, 1],
    [18, 2],
    [24, 2],
    [16, 4],
  ],
  Q: [
    [0, 0],
    [13, 1],
    [22, 1],
    [18, 2],
    [26, 2],
    [18, 4],
    [24, 4],
  ],
  H: [
    [0, 0],
    [17, 1],
    [28, 1],
    [22, 2],
    [16, 4],
    [22, 4],
    [28, 4],
  ],
};
/** As the format tells the level. @type {Record<Level, number>} */
const LEVEL_BITS = { L: 1, M: 0, Q: 3, H: 2 };
const LEVELS = /** @type {Level[]} */ (['L', 'M', 'Q', 'H']);
const FORMAT_CHECK = 0x537;
const FORMAT_MASK = 0x5412;
/** @type {((row: number, column: number) => boolean)[]} */
const MASKS = [
  (row, column) => (row + column) % 2 === 0,
  (row) => row % 2 === 0,
  (_, column) => column % 3 === 0,
  (row, column) => (row + column) % 3 === 0,
  (row, column) => ((row >> 1) + Math.floor(column / 3)) % 2 === 0,
  (row, column) => ((row * column) % 2) + ((row * column) % 3) === 0,
  (row, column) => (((row * column) % 2) + ((row * column) % 3)) % 2 === 0,
  (row, column) => (((row * column) % 3) + ((row + column) % 2)) % 2 === 0,
];
export const SIGNS = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:';
const [DIGITS, LETTERS, BYTES, END] = [1, 2, 4, 0];
const MODE_BITS = 4;
/** Bits that tell how many signs follow. */
const COUNT_BITS = { [DIGITS]: 10, [LETTERS]: 9, [BYTES]: 8 };
const PADS = [0xec, 0x11];

/** Modules along a side. @param {number} version */
export const sideOf = (version) => 17 + 4 * version;

/**
 * What is the same in all symbols of a version: 1 dark, -1 light, 0 what differs; row after row.
 *
 * @typedef {{version: number, side: number, fixed: Int8Array, format: [number, number][], data: Int32Array}} Layout
 *   `format`: the two places of each of its 15 bits; `data`: the places of the code words' bits in order
 */

/** @type {Map<number, Layout>} */
const layouts = new Map();

/** @param {number} version @returns {Layout} */
export function layoutOf(version) {
  const made = layouts.get(version) ?? newLayout(version);
  layouts.set(version, made);
  return made;
}

/** @param {number} version @returns {Layout} */
function newLayout(version) {
  const side = sideOf(version);
  const fixed = new Int8Array(side * side);
  for (const [top, left] of [
    [0, 0],
    [0, side - 7],
    [side - 7, 0],
  ])
    square(fixed, side, top + 3, left + 3, [1, 1, -1, 1, -1]);
  for (let at = 8; at < side - 8; at += 1) fixed[6 * side + at] = fixed[at * side + 6] = at % 2 ? -1 : 1;
  if (version > 1) square(fixed, side, side - 7, side - 7, [1, -1, 1]);
  fixed[(side - 8) * side + 8] = 1;
  const format = formatPlaces(side);
  return { version, side, fixed, format, data: dataPlaces(side, fixed, new Set(format.flat())) };
}

/** Squares inside one another round a middle; light or dark from the middle outwards. @param {Int8Array} fixed @param {number} side @param {number} row @param {number} column @param {number[]} rings */
function square(fixed, side, row, column, rings) {
  const reach = rings.length - 1;
  for (let down = -reach; down <= reach; down += 1)
    for (let across = -reach; across <= reach; across += 1) {
      const [y, x] = [row + down, column + across];
      if (y >= 0 && x >= 0 && y < side && x < side)
        fixed[y * side + x] = rings[Math.max(Math.abs(down), Math.abs(across))];
    }
}

/** @param {number} side @returns {[number, number][]} */
function formatPlaces(side) {
  return Array.from({ length: 15 }, (_, bit) => {
    const row = bit < 6 ? bit : bit < 8 ? bit + 1 : side - 15 + bit;
    const column = bit < 8 ? side - 1 - bit : bit < 9 ? 7 : 14 - bit;
    return [row * side + 8, 8 * side + column];
  });
}

/** Up and down in pairs of columns from the lower right corner. @param {number} side @param {Int8Array} fixed @param {Set<number>} format */
function dataPlaces(side, fixed, format) {
  const places = [];
  for (let pair = 0, right = side - 1; right > 0; pair += 1, right -= right === 8 ? 3 : 2)
    for (let step = 0; step < side; step += 1)
      for (const column of [right, right - 1]) {
        const place = (pair % 2 ? step : side - 1 - step) * side + column;
        if (fixed[place] === 0 && !format.has(place)) places.push(place);
      }
  return Int32Array.from(places);
}

/** Whether a mask turns the module at a place over. @param {number} mask @param {number} side @param {number} place */
export const turned = (mask, side, place) => MASKS[mask](Math.floor(place / side), place % side);

/** The 15 bits of a format, the last first. @param {Format} format */
function formatBits({ level, mask }) {
  const told = (LEVEL_BITS[level] << 3) | mask;
  let rest = told << 10;
  for (let bit = 14; bit >= 10; bit -= 1) if (rest & (1 << bit)) rest ^= FORMAT_CHECK << (bit - 10);
  return ((told << 10) | rest) ^ FORMAT_MASK;
}

/** All formats, those that fit soft modules best first. @param {Layout} layout @param {Float32Array} soft */
export function likelyFormats({ format }, soft) {
  const all = LEVELS.flatMap((level) => MASKS.map((_, mask) => ({ level, mask })));
  /** @param {Format} each */
  const fit = (each) => {
    const bits = formatBits(each);
    return format.reduce((sum, [a, b], bit) => sum + (soft[a] + soft[b]) * ((bits >> bit) & 1 ? 1 : -1), 0);
  };
  const fits = all.map((each) => ({ each, fit: fit(each) }));
  return fits.sort((a, b) => b.fit - a.fit).map(({ each }) => each);
}

/**
 * Where the words of each block stand among all words of a symbol, data first.
 *
 * @param {number} version @param {Level} level
 * @returns {{checks: number, blocks: number[][]}}
 */
export function blocksOf(version, level) {
  const [checks, count] = BLOCKS[level][version];
  const least = Math.floor(WORDS[version] / count) - checks;
  const longer = WORDS[version] % count;
  /** @type {number[][]} */
  const blocks = Array.from({ length: count }, () => []);
  let word = 0;
  for (let row = 0; row <= least; row += 1)
    blocks.forEach((block, at) => {
      if (row < least || at >= count - longer) block.push(word++);
    });
  for (let row = 0; row < checks; row += 1) for (const block of blocks) block.push(word++);
  return { checks, blocks };
}

/** Data words that a symbol holds. @param {number} version @param {Level} level */
const roomOf = (version, level) => WORDS[version] - BLOCKS[level][version][0] * BLOCKS[level][version][1];

/**
 * A whole symbol from its data words: 1 dark, -1 light.
 *
 * @param {Uint8Array} data @param {number} version @param {Format} format
 */
export function symbolOf(data, version, format) {
  const { side, fixed, format: places, data: order } = layoutOf(version);
  const { checks, blocks } = blocksOf(version, format.level);
  const words = new Uint8Array(WORDS[version]);
  let from = 0;
  for (const block of blocks) {
    const own = data.subarray(from, from + block.length - checks);
    from += own.length;
    [...own, ...checkWords(own, checks)].forEach((each, at) => {
      words[block[at]] = each;
    });
  }
  const modules = fixed.slice();
  order.forEach((place, bit) => {
    const dark = bit < 8 * words.length && (words[bit >> 3] >> (7 - (bit & 7))) & 1;
    modules[place] = !!dark !== turned(format.mask, side, place) ? 1 : -1;
  });
  const bits = formatBits(format);
  places.forEach((both, bit) => {
    for (const place of both) modules[place] = (bits >> bit) & 1 ? 1 : -1;
  });
  return modules;
}

/** @param {number} value @param {number} count @returns {number[]} */
const bitsOf = (value, count) => Array.from({ length: count }, (_, at) => (value >> (count - 1 - at)) & 1);

/**
 * What a label's symbol says is known but for its code: the data bits, -1 where they are not, and the symbol's sort.
 * As the server makes it: capitals, level Q, or H where that takes no more modules, one mask. Twin: services/labels/symbols.py.
 *
 * @typedef {{version: number, format: Format, bits: Int8Array}} Expected
 * @param {string} before what stands before the code @param {number} codeLength signs of the code
 * @returns {Expected | null} null: it needs signs or room that a label does not have
 */
export function expectedSymbol(before, codeLength) {
  const signs = [...before].map((sign) => SIGNS.indexOf(sign));
  const count = signs.length + codeLength;
  if (signs.includes(-1)) return null;
  const length = MODE_BITS + COUNT_BITS[LETTERS] + 11 * (count >> 1) + 6 * (count & 1);
  /** @param {Level} level */
  const fitting = (level) =>
    WORDS.findIndex((_, version) => version > 0 && 8 * roomOf(version, level) >= length);
  const [quarter, high] = [fitting('Q'), fitting('H')];
  if (quarter < 0) return null;
  /** @type {Format} */
  const format = { level: high === quarter ? 'H' : 'Q', mask: 3 };
  const room = 8 * roomOf(quarter, format.level);
  const bits = [...bitsOf(LETTERS, MODE_BITS), ...bitsOf(count, COUNT_BITS[LETTERS])];
  for (let at = 0; at < count; at += 2) {
    const known = at + 1 < signs.length;
    const wide = at + 1 < count ? 11 : 6;
    bits.push(...(known ? bitsOf(45 * signs[at] + signs[at + 1], 11) : new Array(wide).fill(-1)));
  }
  bits.push(...new Array(Math.min(4, room - bits.length)).fill(0));
  while (bits.length % 8) bits.push(0);
  for (let pad = 0; bits.length < room; pad += 1) bits.push(...bitsOf(PADS[pad % 2], 8));
  return { version: quarter, format, bits: Int8Array.from(bits) };
}

/** The text in data words; null: none, or in a way that no label uses. @param {Uint8Array} data @returns {string | null} */
export function textOf(data) {
  let at = 0;
  /** @param {number} count */
  const take = (count) => {
    let value = 0;
    for (const end = at + count; at < end; at += 1)
      value = 2 * value + (((data[at >> 3] ?? 0) >> (7 - (at & 7))) & 1);
    return value;
  };
  const bytes = [];
  /** @param {string} text */
  const say = (text) => bytes.push(...new TextEncoder().encode(text));
  while (at + MODE_BITS <= 8 * data.length) {
    const mode = take(MODE_BITS);
    if (mode === END) break;
    if (mode !== DIGITS && mode !== LETTERS && mode !== BYTES) return null;
    let left = take(COUNT_BITS[mode]);
    const wide = mode === BYTES ? 8 : mode === LETTERS ? 5.5 : 10 / 3;
    if (at + Math.floor(left * wide) > 8 * data.length) return null;
    for (; mode === BYTES && left > 0; left -= 1) bytes.push(take(8));
    for (; mode === DIGITS && left > 0; left -= 3) {
      const wide = Math.min(left, 3);
      say(String(take([0, 4, 7, 10][wide])).padStart(wide, '0'));
    }
    for (; mode === LETTERS && left > 0; left -= 2) {
      const pair = take(left > 1 ? 11 : 6);
      if (pair >= (left > 1 ? 45 * 45 : 45)) return null;
      say(left > 1 ? SIGNS[Math.floor(pair / 45)] + SIGNS[pair % 45] : SIGNS[pair]);
    }
  }
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(Uint8Array.from(bytes));
  } catch {
    return null;
  }
}
