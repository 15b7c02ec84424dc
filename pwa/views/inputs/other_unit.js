// What an inch-and-foot country reads otherwise besides lengths: degrees Fahrenheit and foot-candles. Records hold °C and lx.

import { store } from '../../store/store.js';
import { numberText } from '../numbers.js';

/**
 * The unit beside the one of records.
 *
 * @typedef {object} OtherUnit
 * @property {string} name as it is read
 * @property {RegExp} like a number and one of the two units, as they are typed
 * @property {(letters: string) => boolean} isOther
 * @property {(own: number) => number} from in it, from the records' unit
 * @property {(other: number) => number} into the records' unit, as finely as one reads it
 */

/** A foot is 304.8 mm, so a foot-candle (1 lm/ft²) is 1 / 0.3048² lx: NIST SP 811, B.8. */
const LX_IN_FC = 1 / 0.3048 ** 2;
/** @param {number} value @param {number} by */
const rounded = (value, by) => Math.round(value * by) / by;

/** By the unit of the spec. NIST SP 811, B.8: t/°C = (t/°F − 32)/1.8. @type {Record<string, OtherUnit>} */
const OTHERS = {
  '°C': {
    name: '°F',
    like: /^(.*?)\s*[°º]?\s*([cf])$/i,
    isOther: (letters) => letters.toLowerCase() === 'f',
    from: (celsius) => Math.round(celsius * 1.8 + 32) || 0,
    into: (fahrenheit) => rounded((fahrenheit - 32) / 1.8, 10),
  },
  lx: {
    name: 'fc',
    like: /^(.*?)\s*(lx|lux|fc)$/i,
    isOther: (letters) => letters.toLowerCase() === 'fc',
    from: (lux) => rounded(lux / LX_IN_FC, 10),
    into: (footcandles) => Math.round(footcandles * LX_IN_FC),
  },
};

/** What else people have a unit in: '°F' of '°C'; nothing of most. @param {string | undefined} unit @returns {string | undefined} */
export const otherName = (unit) => OTHERS[unit ?? '']?.name;

/**
 * A typed number without the unit that was typed behind it, and what it is to be made in the records' unit.
 *
 * @param {string} text @param {string | undefined} unit of the field
 * @returns {{bare: string, into: (typed: number) => number}}
 */
export function withoutUnit(text, unit) {
  const other = OTHERS[unit ?? ''];
  const [, bare = text, letters = ''] = other?.like.exec(text.trim()) ?? [];
  return { bare, into: other?.isOther(letters) ? other.into : (typed) => typed };
}

/** The same in the other unit, for who reads a tape in inches: ' (90 °F)' of 32.2 °C. @param {number} value @param {string | undefined} unit */
export function inOtherText(value, unit) {
  const other = OTHERS[unit ?? ''];
  return other && store.units === 'in' ? ` (${numberText(other.from(value), 0, 1)} ${other.name})` : '';
}
