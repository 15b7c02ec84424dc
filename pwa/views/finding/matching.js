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
 * The query without the one word that a line lacks, where that is a number: the position of a fixture.
 *
 * @param {string[]} query @param {string[]} line
 * @returns {number | null} the position; null where the line lacks nothing, more than one word, or no number
 */
export function positionIn(query, line) {
  const lacking = query.filter((word) => howWell(word, line) < 0);
  const [number] = lacking;
  return query.length > 1 && lacking.length === 1 && /^\d{1,4}$/.test(number) ? Number(number) : null;
}
