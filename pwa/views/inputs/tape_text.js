// What stands on the tape as text, and how the keys change it: digits first, then the fraction in one tap or two.

/** Parts of an inch that a tape shows, by smallest division. @type {Record<string, number>} */
const PARTS = { '1-16-in': 16, '1-32-in': 32, '1-64-in': 64 };
const SIXTEENTHS = 16;
/** Digits after which no more whole inches are to be expected: 10 to 99 in. */
const WHOLE_DIGITS = 2;
/** Whole inches, and behind them a fraction that is finished. */
const WHOLE = /^\s*(\d+)(?:\s+\d+\/\d+)?\s*$/;
const FRACTION = /\s*\d+\/\d+\s*(?:in|")?\s*$/;

/** @typedef {'digits' | 'fractions'} Face which keys the pad shows */

/** @param {string | undefined} graduation @returns {number} */
export const partsOf = (graduation) => PARTS[graduation ?? ''] ?? SIXTEENTHS;

/** Whole inches at the start of a text, as typed. @param {string} text */
const wholeOf = (text) => /^\s*(\d+)(?![\d/.,])/.exec(text)?.[1] ?? '';

/** A fraction of an inch as it is read: 4/16 is 1/4. @param {number} over @param {number} under */
export function fractionText(over, under) {
  let [a, b] = [over, under];
  while (a && a % 2 === 0) [a, b] = [a / 2, b / 2];
  return a ? `${a}/${b}` : '';
}

/** Which part of the inch a text ends with, of so many; 0 where it has no fraction that such a tape shows. @param {string} text @param {number} parts */
export function partOf(text, parts) {
  const found = /(\d+)\/(\d+)\s*(?:in|")?\s*$/.exec(text);
  if (!found) return 0;
  const part = (Number(found[1]) * parts) / Number(found[2]);
  return Number.isInteger(part) && part < parts ? part : 0;
}

/** The text with another fraction behind its whole inches. @param {string} text @param {number} part @param {number} parts */
export function withFraction(text, part, parts) {
  return [wholeOf(text), fractionText(part, parts)].filter(Boolean).join(' ');
}

/** Steps between two sixteenths that a tape shows, in its own parts: none, 1, or 1 to 3. @param {number} parts */
export const stepsOf = (parts) => Array.from({ length: parts / SIXTEENTHS - 1 }, (_, at) => at + 1);

/** The text a step above its sixteenth; tapped again, on the sixteenth itself. @param {string} text @param {number} step @param {number} parts */
export function withStep(text, step, parts) {
  const part = partOf(text, parts);
  const over = part % (parts / SIXTEENTHS);
  return withFraction(text, part - over + (over === step ? 0 : step), parts);
}

/**
 * The keys that the pad shows: once two digits of inches stand there, the fraction comes next.
 *
 * @param {string} text @param {Units} units @param {Face | null} wanted turned to by hand
 * @returns {Face}
 */
export function faceOf(text, units, wanted) {
  if (units !== 'in') return 'digits';
  if (wanted) return wanted;
  const whole = WHOLE.exec(text)?.[1] ?? '';
  return whole.length >= WHOLE_DIGITS ? 'fractions' : 'digits';
}

/**
 * The text after a key. A fraction is one thing: it is taken back whole.
 *
 * @param {string} text @param {string} key a character, or 'back' @param {boolean} anew what stands there was only
 *   brought back: a digit begins the next length
 */
export function afterKey(text, key, anew) {
  if (key === 'back') return FRACTION.test(text) ? text.replace(FRACTION, '') : text.slice(0, -1);
  return anew && /\d/.test(key) ? key : text + key;
}

/**
 * What the next length probably begins with: the whole inches of the last one, or its millimetres without the last
 * digit; '' where nothing is to be said.
 *
 * @param {string} entered a length as it was entered @param {Units} units what is being typed @param {Units} meant what
 *   its number means without a unit
 */
export function startOf(entered, units, meant) {
  const found = /^\s*(\d+)(?:\s+\d+\/\d+|[.,]\d)?\s*(in|"|mm)?\s*$/.exec(entered);
  if (!found) return '';
  const of = found[2] ? (found[2] === 'mm' ? 'mm' : 'in') : meant;
  if (of !== units) return '';
  return units === 'in' ? found[1] : found[1].slice(0, -1);
}
