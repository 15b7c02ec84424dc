// Finding by words: how well a line of text answers what was typed. Pure.

const MARKS = /[\u0300-\u036f]/g;
const APART = /[^\p{L}\p{N}]+/u;

/** How well, the best first; -1 is not at all. */
export const WHOLE = 0;
export const BEGINS = 1;
export const WITHIN = 2;

/** Letters as they are compared: small, without accents. @param {string} text */
export const plain = (text) => text.normalize('NFKD').replace(MARKS, '').toLowerCase();

/** The words of a text. @param {string} text @returns {string[]} */
export const wordsOf = (text) => plain(text).split(APART).filter(Boolean);

/**
 * How well one word of the query stands in a line.
 *
 * @param {string} word @param {string[]} line words of the line
 */
function howWell(word, line) {
  if (line.includes(word)) return WHOLE;
  if (line.some((each) => each.startsWith(word))) return BEGINS;
  return line.some((each) => each.includes(word)) ? WITHIN : -1;
}

/**
 * How well a line answers: every word of the query must stand in it.
 *
 * @param {string[]} query its words @param {string[]} line words of the line
 * @returns {number} the worst of its words; -1 where one is missing
 */
export function rank(query, line) {
  const each = query.map((word) => howWell(word, line));
  return each.length === 0 || each.includes(-1) ? -1 : Math.max(...each);
}

/**
 * The position of a fixture that a query asks for: its last word, a number that is no word of the line, behind words that
 * all stand in it.
 *
 * @param {string[]} query @param {string[]} line
 * @returns {number | null}
 */
export function positionIn(query, line) {
  const last = query[query.length - 1] ?? '';
  if (!/^\d{1,4}$/.test(last) || line.includes(last)) return null;
  return rank(query.slice(0, -1), line) < 0 ? null : Number(last);
}
