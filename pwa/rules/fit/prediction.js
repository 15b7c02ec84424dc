// How far below the mean the cavities that nobody read may lie, and how many may. Twin: server/spanwalk/rules/fit/prediction.py.

import * as constants from '../constants.js';

/** 95 % one-sided: what is left is one in twenty. */
const ONE_IN = BigInt(constants.ONE_IN);

/**
 * Prediction factor r: with 95 % confidence all m further cavities are at least mean - r s. Between two rows
 * of the table the one that gives more is taken.
 * @param {number} n cavities whose mean is taken, at least 1
 * @param {number} m cavities not read, at least 1
 * @param {number} degrees degrees of freedom of the spread, at least 1
 * @param {Reference['prediction']} table prediction.json
 * @returns {number | null} r in thousandths, rounded up; null where the table ends
 */
export function factorThousandths(n, m, degrees, table) {
  const atM = table.m.findIndex((/** @type {number} */ each) => each >= m);
  if (atM < 0) return null;
  return table.factors[lastUpTo(table.n, n)][lastUpTo(table.degrees, degrees)][atM];
}

/** Place of the last entry that is no greater than a value. @param {number[]} sorted @param {number} value */
function lastUpTo(sorted, value) {
  const beyond = sorted.findIndex((each) => each > value);
  return (beyond < 0 ? sorted.length : beyond) - 1;
}

/**
 * Most of the cavities not read that could be shorter than the shortest read, at 95 %, whatever the distribution.
 * @param {number} population cavities in all @param {number} n cavities read
 * @returns {number} from 0 to population - n
 */
export function couldBeShorter(population, n) {
  let [low, high] = [0, population - n];
  while (low < high) {
    const middle = Math.floor((low + high + 1) / 2);
    if (allMissed(population, n, middle)) low = middle;
    else high = middle - 1;
  }
  return low;
}

/**
 * Whether n readings miss all the short ones more than once in twenty times.
 * @param {number} population @param {number} n @param {number} short
 */
function allMissed(population, n, short) {
  let [missing, every] = [1n, 1n];
  for (let taken = 0; taken < n; taken += 1) {
    missing *= BigInt(population - short - taken);
    every *= BigInt(population - taken);
  }
  return missing * ONE_IN > every;
}
