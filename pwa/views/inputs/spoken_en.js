// A length as somebody says it in English, as text that can be typed.

/** @type {Record<string, number>} */
const SMALL = {
  zero: 0,
  one: 1,
  two: 2,
  three: 3,
  four: 4,
  five: 5,
  six: 6,
  seven: 7,
  eight: 8,
  nine: 9,
  ten: 10,
  eleven: 11,
  twelve: 12,
  thirteen: 13,
  fourteen: 14,
  fifteen: 15,
  sixteen: 16,
  seventeen: 17,
  eighteen: 18,
  nineteen: 19,
};
/** @type {Record<string, number>} */
const TENS = { twenty: 20, thirty: 30, forty: 40, fifty: 50, sixty: 60, seventy: 70, eighty: 80, ninety: 90 };
/** @type {Record<string, number>} */
const SCALES = { hundred: 100, thousand: 1000 };
/** Parts of an inch by what they are called. @type {[number, string[]][]} */
const PARTS = [
  [2, ['half', 'halves']],
  [4, ['quarters', 'quarter', 'fourth', 'fourths']],
  [8, ['eighths', 'eighth']],
  [16, ['sixteenths', 'sixteenth']],
  [32, ['thirty-seconds', 'thirty-second']],
  [64, ['sixty-fourths', 'sixty-fourth']],
];
const UNITS = /\s*\b(inches|inch|in|millimet(?:re|er)s?|mm)\.?$/;
export const YES = new Set(['yes', 'yeah', 'yep', 'correct', 'right', 'save']);
/** With what 'not right' and 'don't save' hold, an apostrophe apart: beside a yes they make it none. */
const NEGATIONS = [
  'not',
  'cannot',
  'never',
  'don',
  'dont',
  'isn',
  'isnt',
  'doesn',
  'doesnt',
  'wasn',
  'wasnt',
];
export const NO = new Set(['no', 'nope', 'nah', 'wrong', 'incorrect', 'again', 'cancel', ...NEGATIONS]);

/**
 * The text of a length that was said, as the pad would have it; null where it is none.
 *
 * @param {string} said as a browser heard it: words, digits or both @returns {string | null} `47 5/16`, `1198.5 mm`
 */
export function spokenLength(said) {
  const words = said
    .toLowerCase()
    .replace(/(\d),(?=\d{3}\b)/g, '$1')
    .replace(/[.!?]+$/, '')
    .trim();
  const unit = UNITS.exec(words)?.[1] ?? '';
  const length = words.replace(UNITS, '').trim();
  const metric = unit.startsWith('m');
  const text = fractional(length) ?? decimal(length);
  if (text === null || (metric && text.includes('/'))) return null;
  return metric ? `${text} mm` : text;
}

/** `47 and five sixteenths`: whole inches and a part, or a part alone. @param {string} said @returns {string | null} */
function fractional(said) {
  const digits = /^(?:(.+?)\s+(?:and\s+)?)?(\d+)\s*[/⁄]\s*(\d+)(?:th|nd)?s?$/.exec(said);
  if (digits) return joined(digits[1], Number(digits[2]), Number(digits[3]));
  for (const [under, names] of [...PARTS].reverse())
    for (const name of names) {
      const behind = said.replace(/\b(thirty|sixty) (second|fourth)(s?)$/, '$1-$2$3');
      if (!behind.endsWith(` ${name}`)) continue;
      const found = /^(?:(.+?)\s+(?:and\s+)?)?(\S+)$/.exec(behind.slice(0, -name.length - 1));
      const over = found && (['a', 'an'].includes(found[2]) ? 1 : whole(found[2]));
      if (found && over !== null) return joined(found[1], Number(over), under);
    }
  return null;
}

/** @param {string | undefined} inches @param {number} over @param {number} under */
function joined(inches, over, under) {
  if (inches === undefined) return `${over}/${under}`;
  const number = whole(inches.replace(/\s+and$/, '').replace(/\s+inch(es)?$/, ''));
  return number === null ? null : `${number} ${over}/${under}`;
}

/** `eleven ninety eight point five`. @param {string} said */
function decimal(said) {
  const [before, after, ...more] = said.split(/\s*(?:\bpoint\b|(?<=\d)\.(?=\d))\s*/);
  const number = whole(before);
  if (number === null || more.length > 0) return null;
  if (after === undefined) return String(number);
  const decimals = after.split(/\s+/).map((word) => (/^\d+$/.test(word) ? word : SMALL[word]));
  return decimals.some((each) => each === undefined) ? null : `${number}.${decimals.join('')}`;
}

/** A whole number in digits or words: `1198`, `forty-seven`, `twelve hundred`, `eleven ninety eight`. @param {string} said @returns {number | null} */
function whole(said) {
  const words = said.split(/[\s-]+/).filter((word) => word && word !== 'and');
  const inDigits = words.some((word) => /\d/.test(word));
  if (words.length === 0 || (inDigits && words.length > 1)) return null;
  let [sum, run, last] = [0, 0, Number.POSITIVE_INFINITY];
  for (const word of words) {
    const scale = SCALES[word];
    if (scale) {
      [sum, run, last] = scale === 1000 ? [(sum + run) * 1000, 0, 1000] : [sum, run * scale, 100];
      continue;
    }
    const value = /^\d+$/.test(word) ? Number(word) : (SMALL[word] ?? TENS[word]);
    if (value === undefined) return null;
    const fits = value < last && (last % 10 === 0 || last === Number.POSITIVE_INFINITY);
    const pair = run < 100 && sum === 0 && value >= 10;
    if (!fits && !pair) return null;
    run = fits ? run + value : run * 100 + value;
    last = value || 1;
  }
  return sum + run;
}
