// What is counted of an item in a delivery: read as typed, one more or less by a tap, all that is to come at once. Pure.

/** What is typed of an item. @typedef {{good: string, damaged: string, wrong: string, short: string, came_instead: string}} Typed */
/** @typedef {'good' | 'damaged' | 'wrong' | 'short'} Name */

/** @type {Name[]} */
export const COUNTS = ['good', 'damaged', 'wrong', 'short'];
export const NOT_WELL = COUNTS.slice(1);
const MOST = 1_000_000;

/** Pieces that were typed; none where nothing is. @param {string} text @returns {number} NaN: it is no count */
export function countOf(text) {
  if (!text.trim()) return 0;
  const number = Number(text);
  return Number.isInteger(number) && number >= 0 && number <= MOST ? number : Number.NaN;
}

/** @param {Typed} typed */
export const hasCount = (typed) => COUNTS.some((name) => typed[name].trim() !== '');

/** All of a line that has not come, came in good order. @param {Typed} typed @param {number} left [pieces] @returns {Typed} */
export const allGood = (typed, left) => ({ ...typed, good: String(left) });

/**
 * One piece more or less of a count. What is damaged, wrong or missing is taken off the good ones where all that was to
 * come was counted as good: forty came, one of them broken, are thirty-nine good ones.
 *
 * @param {Typed} typed @param {Name} name @param {1 | -1} by @param {number} left pieces that have not come yet
 * @returns {Typed}
 */
export function stepped(typed, name, by, left) {
  const before = countOf(typed[name]);
  const after = Math.max(0, (Number.isNaN(before) ? 0 : before) + by);
  const found = { ...typed, [name]: String(after) };
  const [good, all] = [countOf(typed.good), COUNTS.reduce((sum, each) => sum + countOf(found[each]), 0)];
  const gone = name !== 'good' && by > 0 && good > 0 && all > left;
  return gone ? { ...found, good: String(good - 1) } : found;
}
