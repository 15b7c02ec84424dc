// What a whole site looks like in one number that follows each change, so that a phone can check its copy. Twin: server/spanwalk/sync/digest.py.

import { canonical } from './canonical.js';
import { sha256Words } from './sha256.js';

/** @typedef {Pick<import('./types.js').LocalRecord, 'id' | 'facets' | 'conflicts'>} Lined */

const LIFE = 'life';
const WORD = 0x100000000;

/**
 * One record's line, of what the server has of it and not of what this phone makes of it; null if it has none.
 *
 * @param {Lined} record
 * @returns {string | null}
 */
export function digestLine({ id, facets, conflicts }) {
  const names = Object.keys(facets);
  const removed = facets[LIFE]?.value.removed ?? false;
  if (names.length === 0 || (removed && conflicts.length === 0)) return null;
  const said = Object.fromEntries(names.map((name) => [name, [facets[name].op, facets[name].value]]));
  return canonical([id, removed, said, conflicts.map((conflict) => conflict.id).sort()]);
}

/** What a record adds to the sum; null if it has no line. @param {Lined} record @returns {Uint32Array | null} */
export function lineHash(record) {
  const line = digestLine(record);
  return line === null ? null : sha256Words(line);
}

/** No records. @returns {number[]} */
export const zeroWords = () => new Array(8).fill(0);

/**
 * Add a hash to a sum modulo 2^256, or take it away again.
 *
 * @param {number[]} sum eight words of 32 bits, the most significant first; changed in place
 * @param {ArrayLike<number>} words
 * @param {1 | -1} [sign]
 */
export function addWords(sum, words, sign = 1) {
  let carry = 0;
  for (let place = 7; place >= 0; place -= 1) {
    const next = sum[place] + sign * words[place] + carry;
    carry = Math.floor(next / WORD);
    sum[place] = next - carry * WORD;
  }
  return sum;
}

/** A sum as it goes over the wire: 64 hexadecimal digits. @param {number[]} sum */
export const writtenSum = (sum) => sum.map((word) => word.toString(16).padStart(8, '0')).join('');

/**
 * Count and sum of a copy, in whatever order its records come.
 *
 * @param {Lined[]} records
 */
export function digest(records) {
  const total = zeroWords();
  let count = 0;
  for (const record of records) {
    const hashed = lineHash(record);
    if (!hashed) continue;
    count += 1;
    addWords(total, hashed);
  }
  return { count, digest: writtenSum(total) };
}
