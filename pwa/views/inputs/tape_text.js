// What stands on the tape as text, and how the ruler and the keys change it.

/** Parts of an inch that a ruler shows, by smallest division. @type {Record<string, number>} */
const PARTS = { '1-16-in': 16, '1-32-in': 32, '1-64-in': 64 };

/** @param {string | undefined} graduation @returns {number} */
export const partsOf = (graduation) => PARTS[graduation ?? ''] ?? 16;

/** Whole inches at the start of a text, as typed. @param {string} text */
const wholeOf = (text) => /^\s*(\d+)(?![\d/.,])/.exec(text)?.[1] ?? '';

/** A fraction of an inch as it is read: 4/16 is 1/4. @param {number} over @param {number} under */
export function fractionText(over, under) {
  let [a, b] = [over, under];
  while (a && a % 2 === 0) [a, b] = [a / 2, b / 2];
  return a ? `${a}/${b}` : '';
}

/** Where a text stands on a ruler of so many parts an inch; 0 where it has no fraction that the ruler shows. @param {string} text @param {number} parts */
export function placeOnRuler(text, parts) {
  const found = /(\d+)\/(\d+)\s*(?:in|")?\s*$/.exec(text);
  if (!found) return 0;
  const place = (Number(found[1]) * parts) / Number(found[2]);
  return Number.isInteger(place) && place < parts ? place : 0;
}

/** The text with another fraction behind its whole inches. @param {string} text @param {number} place @param {number} parts */
export function withFraction(text, place, parts) {
  return [wholeOf(text), fractionText(place, parts)].filter(Boolean).join(' ');
}

/**
 * The text after a key. A fraction from the ruler is one thing: taken back whole, and a digit after it begins anew.
 *
 * @param {string} text @param {string} key a character, or 'back' @param {boolean} ruled the ruler wrote the fraction
 */
export function afterKey(text, key, ruled) {
  if (key === 'back') return ruled ? wholeOf(text) : text.slice(0, -1);
  return ruled && /\d/.test(key) ? key : text + key;
}
