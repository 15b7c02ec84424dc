// What length stands on the tape? Reads what a person types, exactly. Twin: server/spanwalk/rules/measuring/lengths.py.

import * as constants from '../constants.js';

/** Lengths are whole ticks of 1/320 mm: 1/64 in is 127 of them and 0.1 mm is 32, both exactly. */
export const TICKS_PER_MM = constants.TICKS_PER_MM;
export const TICKS_PER_INCH = constants.TICKS_PER_INCH;
export const MOST_TICKS = constants.MOST_TICKS;
const MOST_PLAIN_INCHES = constants.MOST_PLAIN_INCHES;
const MOST_CHARACTERS = constants.MOST_CHARACTERS;

const TAPE_DENOMINATORS = new Set(['2', '4', '8', '16', '32', '64']);
/** @type {Record<string, string>} */
const UNICODE_FRACTIONS = {
  '½': '1/2',
  '¼': '1/4',
  '¾': '3/4',
  '⅛': '1/8',
  '⅜': '3/8',
  '⅝': '5/8',
  '⅞': '7/8',
  '⅓': '1/3',
  '⅔': '2/3',
  '⅕': '1/5',
  '⅙': '1/6',
};
/** @type {[RegExp, string][]} */
const MARKS = [
  [/[″”“]|''/g, '"'],
  [/[′’‘]/g, "'"],
  [/[⁄∕]/g, '/'],
  [/[\u00a0\u2009\u202f]/g, ' '],
];
/** @type {Map<string, string>} */
const UNIT_WORDS = new Map([
  ['mm', 'mm'],
  ['millimetre', 'mm'],
  ['millimetres', 'mm'],
  ['cm', 'cm'],
  ['m', 'm'],
  ['metre', 'm'],
  ['metres', 'm'],
  ['"', 'in'],
  ['in', 'in'],
  ['inch', 'in'],
  ['inches', 'in'],
  ["'", 'ft'],
  ['ft', 'ft'],
  ['feet', 'ft'],
  ['foot', 'ft'],
]);
/** @type {Record<string, number>} */
const TICKS_PER_UNIT = { mm: 320, cm: 3200, m: 320000, in: TICKS_PER_INCH, ft: 12 * TICKS_PER_INCH };
/** @type {Record<string, 'in' | 'mm'>} */
const BARE_UNITS = { inches: 'in', millimetres: 'mm' };
const WORD = /\d+\/\d*|\d+(?:[.,]\d+)*|[\p{L}\p{Nl}\p{No}]+|["']|\S/gu;

/** @typedef {{code: string, facts: Record<string, string | number>}} Problem */
/** @typedef {{ticks: number, as_entered: string, unit: string, exact: boolean}} Length */
/** A rational number: numerator and denominator. @typedef {{over: bigint, under: bigint}} Rational */

class Refused extends Error {
  /** @param {string} code @param {Record<string, string | number>} [facts] */
  constructor(code, facts = {}) {
    super(code);
    this.problem = { code, facts };
  }
}

/** @param {Rational} a @param {Rational} b @returns {Rational} */
const plus = (a, b) => ({ over: a.over * b.under + b.over * a.under, under: a.under * b.under });
/** @param {Rational} a @param {number} whole @returns {Rational} */
const times = (a, whole) => ({ over: a.over * BigInt(whole), under: a.under });
const ZERO = { over: 0n, under: 1n };

/**
 * Read a length as a person types it.
 * @param {string} text what was typed
 * @param {string} [units] what a bare number means: 'in' or 'mm', or the site's 'inches' or 'millimetres'
 * @param {boolean} [mayBeZero] whether 0 is a length here: a height above the floor or a gap may be none, a cavity may not
 * @param {number} [most] the longest that is a length here [1/320 mm]: a room is longer than any fixture
 * @returns {Partial<Length> & {error?: Problem, question?: Problem & {ticks: number}}} `ticks` [1/320 mm], or an
 *   error, or a question with the likelier reading
 */
export function parseLength(text, units = 'in', mayBeZero = false, most = MOST_TICKS) {
  try {
    return read(text.trim(), BARE_UNITS[units] ?? units, mayBeZero, most);
  } catch (refused) {
    if (refused instanceof Refused) return { error: refused.problem };
    throw refused;
  }
}

/** @param {string} typed @param {string} units @param {boolean} mayBeZero @param {number} most [1/320 mm] */
function read(typed, units, mayBeZero, most) {
  const written = plain(typed);
  if (!written) throw new Refused('length.empty');
  const characters = [...typed];
  if (characters.length > MOST_CHARACTERS) {
    throw new Refused('length.not-a-length', { text: `${characters.slice(0, MOST_CHARACTERS).join('')}…` });
  }
  const tooSmall = mayBeZero ? 'length.below-zero' : 'length.not-positive';
  if (/^[-−]/.test(written)) throw new Refused(tooSmall, { text: typed });
  let { reader, unit } = readWords(typed, written, units, false);
  if (reader.unclearComma && reader.ticks.over > BigInt(most) * reader.ticks.under) {
    ({ reader, unit } = readWords(typed, written, units, true));
  }
  const ticks = Number(reader.ticks.over / reader.ticks.under);
  if (!ticks && !mayBeZero) throw new Refused(tooSmall, { text: typed });
  if (ticks > most) throw new Refused('length.too-long', { text: typed, most_ticks: most });
  const facts = { text: typed, read_ticks: ticks };
  if (reader.unclearComma) return { question: { code: 'length.comma-unclear', facts, ticks } };
  if (unit === 'mm?') return { question: { code: 'length.millimetres-meant', facts, ticks } };
  return { ticks, as_entered: typed, unit, exact: reader.ticks.over % reader.ticks.under === 0n };
}

/**
 * What has been read of the text so far.
 * @typedef {{text: string, commaIsDecimal: boolean, ticks: Rational, pending: Rational | null, units: string[],
 *   hasFraction: boolean, unclearComma: boolean}} Reader
 */

/** @param {string} text @param {string} written @param {string} units @param {boolean} commaIsDecimal */
function readWords(text, written, units, commaIsDecimal) {
  /** @type {Reader} */
  const reader = {
    text,
    commaIsDecimal,
    ticks: ZERO,
    pending: null,
    units: [],
    hasFraction: false,
    unclearComma: false,
  };
  for (const word of written.match(WORD) ?? []) take(reader, word);
  return { reader, unit: bareUnit(reader, units) };
}

/** @param {string} text */
function plain(text) {
  let written = text;
  for (const [pattern, mark] of MARKS) written = written.replace(pattern, mark);
  for (const [sign, fraction] of Object.entries(UNICODE_FRACTIONS))
    written = written.replaceAll(sign, ` ${fraction}`);
  return written.trim();
}

/** @param {Reader} reader @param {string} word */
function take(reader, word) {
  const digit = /^\d/.test(word);
  if (digit && word.includes('/')) takeFraction(reader, word);
  else if (digit) {
    if (reader.pending) throw new Refused('length.not-a-length', { text: reader.text });
    reader.pending = number(reader, word);
  } else if (word === '-' && reader.pending && !reader.hasFraction) return;
  else if (!/^(\p{L}+|["'])$/u.test(word)) throw new Refused('length.not-a-length', { text: reader.text });
  else takeUnit(reader, word);
}

/** @param {Reader} reader @param {string} word */
function takeFraction(reader, word) {
  const [over, under] = word.split('/');
  const facts = { text: reader.text, fraction: word };
  if (reader.hasFraction) throw new Refused('length.not-a-length', { text: reader.text });
  if (!under) throw new Refused('length.fraction-unfinished', facts);
  if (!TAPE_DENOMINATORS.has(String(BigInt(under)))) throw new Refused('length.not-on-a-tape', facts);
  if (BigInt(over) >= BigInt(under)) throw new Refused('length.fraction-too-large', facts);
  if (reader.pending && reader.pending.over % reader.pending.under !== 0n)
    throw new Refused('length.not-a-length', { text: reader.text });
  reader.pending = plus(reader.pending ?? ZERO, { over: BigInt(over), under: BigInt(under) });
  reader.hasFraction = true;
}

/** @param {Reader} reader @param {string} word */
function takeUnit(reader, word) {
  const unit = UNIT_WORDS.get(word.toLowerCase());
  if (!unit) throw new Refused('length.unknown-unit', { text: reader.text, unit: word });
  if (!reader.pending) throw new Refused('length.not-a-length', { text: reader.text });
  const feetThenInches = reader.units.length === 1 && reader.units[0] === 'ft' && unit === 'in';
  const metricFraction = reader.hasFraction && unit !== 'in' && unit !== 'ft';
  if ((reader.units.length && !feetThenInches) || metricFraction)
    throw new Refused('length.units-disagree', { text: reader.text });
  if (unit === 'cm' || unit === 'm') reader.unclearComma = false;
  reader.ticks = plus(reader.ticks, times(reader.pending, TICKS_PER_UNIT[unit]));
  reader.pending = null;
  reader.units.push(unit);
}

/** Count a number that stands without a unit; the unit that the text is in at last. @param {Reader} reader @param {string} units */
function bareUnit(reader, units) {
  const last = reader.units.at(-1);
  if (!reader.pending) return last === 'in' || last === 'ft' ? 'in' : 'mm';
  if (last && !(reader.units.length === 1 && last === 'ft'))
    throw new Refused('length.not-a-length', { text: reader.text });
  const fewEnough = reader.pending.over <= BigInt(MOST_PLAIN_INCHES) * reader.pending.under;
  if (last || reader.hasFraction || (units === 'in' && fewEnough)) {
    reader.ticks = plus(reader.ticks, times(reader.pending, TICKS_PER_INCH));
    return 'in';
  }
  reader.ticks = plus(reader.ticks, times(reader.pending, TICKS_PER_MM));
  return units === 'mm' ? 'mm' : 'mm?';
}

/** @param {string} whole @param {string} decimals @returns {Rational} */
const decimal = (whole, decimals) => ({
  over: BigInt(whole + decimals),
  under: 10n ** BigInt(decimals.length),
});

/** A decimal number; a comma is a decimal mark where the digits or a unit make it certain. @param {Reader} reader @param {string} word */
function number(reader, word) {
  const marks = word.match(/[.,]/g) ?? [];
  const groups = word.split(/[.,]/);
  const last = groups[groups.length - 1];
  if (!marks.length) return { over: BigInt(word), under: 1n };
  if (marks.length === 1 && (marks[0] === '.' || last.length !== 3)) return decimal(groups[0], groups[1]);
  if (marks.length === 1) return commaBeforeThreeDigits(reader, groups);
  const thousands = marks.at(-1) === '.' && marks.slice(0, -1).every((mark) => mark === ',');
  if (!thousands || !groups.slice(1, -1).every((group) => group.length === 3))
    throw new Refused('length.not-a-length', { text: reader.text });
  reader.unclearComma = true;
  return decimal(groups.slice(0, -1).join(''), last);
}

/** `1,198`: with cm or m a decimal mark, else thousands, to be confirmed. @param {Reader} reader @param {string[]} groups */
function commaBeforeThreeDigits(reader, groups) {
  if (groups[0].length > 3 || groups[0].startsWith('0')) return decimal(groups[0], groups[1]);
  const written = plain(reader.text).toLowerCase();
  if (/\d\s*(c?m|metres?)\s*$/.test(written) && !written.endsWith('mm')) return decimal(groups[0], groups[1]);
  reader.unclearComma = true;
  return reader.commaIsDecimal ? decimal(groups[0], groups[1]) : { over: BigInt(groups.join('')), under: 1n };
}

/**
 * A length as it stands on an inch tape; '≈' before the nearest sixteenth where no 64th is met.
 * @param {number} ticks [1/320 mm] @returns {string}
 */
export function formatInches(ticks) {
  if (ticks < 0) {
    const positive = formatInches(-ticks);
    if (positive === '≈ 0') return positive;
    return positive.includes('≈') ? positive.replace('≈ ', '≈ -') : `-${positive}`;
  }
  const exact = ticks % 127 === 0;
  const sixtyFourths = exact ? ticks / 127 : Math.floor((ticks + 254) / 508) * 4;
  const whole = Math.floor(sixtyFourths / 64);
  let over = sixtyFourths - whole * 64;
  let under = 64;
  while (over && over % 2 === 0) [over, under] = [over / 2, under / 2];
  const shown = [whole || '', over ? `${over}/${under}` : ''].filter(Boolean).join(' ') || '0';
  return exact ? shown : `≈ ${shown}`;
}

/** A length in millimetres to a tenth, halves up. @param {number} ticks [1/320 mm] */
export function formatMm(ticks) {
  const tenths = Math.floor((Math.abs(ticks) + 16) / 32);
  const whole = String(Math.floor(tenths / 10)).replace(/\B(?=(\d{3})+$)/g, ',');
  return `${ticks < 0 && tenths ? '-' : ''}${whole}.${tenths % 10}`;
}
