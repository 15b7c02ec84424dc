// What a symbol's doubtful modules say: words restored by their check words, the most doubtful left out, and held against the picture.

import { restored } from './scan_worker_codewords.js';
import { blocksOf, layoutOf, likelyFormats, symbolOf, textOf, turned } from './scan_worker_symbol.js';

/**
 * @typedef {import('./scan_worker_symbol.js').Expected} Expected
 * @typedef {import('./scan_worker_symbol.js').Format} Format
 */

/** Check words that must be left over: with four of them chance makes a sound block once in 2³². */
const SPARE = 4;
/** Share of the picture's darkness that must go with the symbol that was read, beyond what was known before. */
const AGREED_LEAST = 0.72;
const FORMATS_TRIED = 2;

/**
 * The words of a symbol that are known before it is looked at: the data's, and the check words of a block all of whose data is.
 *
 * @param {Expected} expected
 * @returns {Int16Array} -1: not known
 */
export function knownWords({ version, format, bits }) {
  const { checks, blocks } = blocksOf(version, format.level);
  const words = new Int16Array(blocks.flat().length).fill(-1);
  /** @type {number[]} */
  const data = [];
  for (let at = 0; at < bits.length; at += 8) {
    const eight = [...bits.subarray(at, at + 8)];
    data.push(eight.includes(-1) ? -1 : eight.reduce((sum, bit) => 2 * sum + bit, 0));
  }
  const whole = symbolWords(
    Uint8Array.from(data, (each) => Math.max(each, 0)),
    version,
    format,
  );
  let from = 0;
  for (const block of blocks) {
    const own = data.slice(from, from + block.length - checks);
    from += own.length;
    const all = !own.includes(-1);
    block.forEach((word, at) => {
      if (all || own[at] >= 0) words[word] = whole[word];
    });
  }
  return words;
}

/** @param {Uint8Array} data @param {number} version @param {Format} format */
function symbolWords(data, version, format) {
  const whole = symbolOf(data, version, format);
  return wordsIn(Float32Array.from(whole), version, format).words;
}

/** The words that modules give, and how doubtful each is: the darkness of its most doubtful modules. @param {Float32Array} soft @param {number} version @param {Format} format */
function wordsIn(soft, version, format) {
  const { side, data } = layoutOf(version);
  const words = new Uint8Array(data.length >> 3);
  const sure = new Float32Array(words.length);
  for (let word = 0; word < words.length; word += 1)
    for (let bit = 0; bit < 8; bit += 1) {
      const place = data[8 * word + bit];
      const dark = soft[place] > 0 !== turned(format.mask, side, place);
      words[word] = 2 * words[word] + (dark ? 1 : 0);
      sure[word] -= Math.log1p(Math.exp(-6 * Math.abs(soft[place])));
    }
  return { words, sure };
}

/** The modules that known words make, with those that are always the same. @param {Expected} expected @param {Int16Array} words */
export function knownModules({ version, format }, words) {
  const { side, fixed, data } = layoutOf(version);
  const known = fixed.slice();
  data.forEach((place, bit) => {
    const word = words[bit >> 3] ?? -1;
    if (word >= 0)
      known[place] = (((word >> (7 - (bit & 7))) & 1) === 1) !== turned(format.mask, side, place) ? 1 : -1;
  });
  return known;
}

/** A block restored with ever more of its doubtful words left out. @param {Uint8Array} word @param {number} checks @param {Float32Array} sure @param {boolean[]} known */
function* restorations(word, checks, sure, known) {
  const doubtful = [...word.keys()].filter((place) => !known[place]).sort((a, b) => sure[a] - sure[b]);
  for (let out = 0; out <= Math.min(checks - SPARE, doubtful.length); out += 1) {
    const found = restored(word, checks, doubtful.slice(0, out), (place) => known[place], SPARE);
    if (found) yield found;
  }
}

/**
 * The text of a symbol, or null: it cannot be told, or not surely enough.
 *
 * @param {Float32Array} soft darkness of its modules
 * @param {number} version
 * @param {{format: Format, words: Int16Array} | null} expected what is known of it
 * @returns {string | null}
 */
export function textIn(soft, version, expected) {
  const formats = expected
    ? [expected.format]
    : likelyFormats(layoutOf(version), soft).slice(0, FORMATS_TRIED);
  for (const format of formats) {
    const data = dataIn(soft, version, format, expected?.words);
    const text = data && textOf(data);
    if (text) return text;
  }
  return null;
}

/** @param {Float32Array} soft @param {number} version @param {Format} format @param {Int16Array} [expected] */
function dataIn(soft, version, format, expected) {
  const { words, sure } = wordsIn(soft, version, format);
  words.forEach((_, word) => {
    if (expected && expected[word] >= 0) words[word] = expected[word];
  });
  const { checks, blocks } = blocksOf(version, format.level);
  const data = [];
  for (const block of blocks) {
    const known = block.map((word) => (expected?.[word] ?? -1) >= 0);
    const own = Uint8Array.from(block, (word) => words[word]);
    const [first] = restorations(
      own,
      checks,
      Float32Array.from(block, (word) => sure[word]),
      known,
    );
    if (!first) return null;
    data.push(...first.subarray(0, block.length - checks));
  }
  const found = Uint8Array.from(data);
  return agrees(soft, version, symbolOf(found, version, format), expected) ? found : null;
}

/** Whether a symbol is the one in the picture: its modules that were not known go with what was seen. @param {Float32Array} soft @param {number} version @param {Int8Array} symbol @param {Int16Array} [expected] */
function agrees(soft, version, symbol, expected) {
  const { data } = layoutOf(version);
  let [sum, most] = [0, 0];
  data.forEach((place, bit) => {
    if ((expected?.[bit >> 3] ?? -1) >= 0) return;
    sum += Math.max(0, soft[place] * symbol[place]);
    most += Math.abs(soft[place]);
  });
  return sum > AGREED_LEAST * most;
}
