// Numbers and dates as who reads them writes them: by the region they chose, else by their phone.

import { store } from '../store/store.js';

/** @type {Map<string, Intl.NumberFormat | Intl.DateTimeFormat>} */
const made = new Map();

/** The locale of who reads; undefined: the phone's own. @returns {string | undefined} */
export const locale = () =>
  store.language.includes('-') || store.language !== 'en' ? store.language : undefined;

/** A formatter is dear to make: each is made once. @template {Intl.NumberFormat | Intl.DateTimeFormat} T @param {string} key @param {() => T} make @returns {T} */
function once(key, make) {
  const name = `${locale()}:${key}`;
  const held = /** @type {T | undefined} */ (made.get(name)) ?? make();
  made.set(name, held);
  return held;
}

/** A number to read, thousands marked. @param {number} value @param {number} [digits] decimals, all of them shown @param {number} [most] decimals at most */
export function numberText(value, digits = 0, most = digits) {
  const options = { minimumFractionDigits: digits, maximumFractionDigits: most };
  return once(`number:${digits}:${most}`, () => new Intl.NumberFormat(locale(), options)).format(value);
}

/** What a number falls under in the language that is read: 'one', 'other'. @type {Map<string, Intl.PluralRules>} */
const plurals = new Map();

/** @param {number} count @returns {'one' | 'other'} each language has words for these two */
export function pluralOf(count) {
  const { language } = store;
  const rules = plurals.get(language) ?? new Intl.PluralRules(language);
  plurals.set(language, rules);
  return rules.select(count) === 'one' ? 'one' : 'other';
}

/** A number as English has it, 1,147.8, with the decimal mark of who reads; four digits and more are not parted there, so that it can be typed again. @param {string} english */
export function markedText(english) {
  if (store.language.startsWith('en')) return english;
  const [, decimals = ''] = english.split('.');
  const options = { minimumFractionDigits: decimals.length, useGrouping: false };
  return once(`marked:${decimals.length}`, () => new Intl.NumberFormat(locale(), options)).format(
    Number(english.replaceAll(',', '')),
  );
}

/** A day and minute to read. @param {Date} time */
export function dateText(time) {
  const options = /** @type {const} */ ({ dateStyle: 'medium', timeStyle: 'short' });
  return once('date', () => new Intl.DateTimeFormat(locale(), options)).format(time);
}

/** A day as records have it, to read: '2026-03-10'. @param {string} day */
export function dayText(day) {
  const [year, month, date] = day.split('-').map(Number);
  if (!(year && month && date)) return day;
  const options = /** @type {const} */ ({ dateStyle: 'full' });
  const time = new Date(year, month - 1, date);
  return once('day', () => new Intl.DateTimeFormat(locale(), options)).format(time);
}
