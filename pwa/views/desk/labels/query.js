// What is asked of the server for a print: from what stands in the form. Pure.

import { parseLength, TICKS_PER_MM } from '../../../rules/measuring/lengths.js';

/**
 * @typedef {object} PrintForm what stands in the form of the print screen; lengths as they were typed
 * @property {string} sheet `labels`, `notices`, `both`
 * @property {string} what `new`, `all`, `again`, `blank`
 * @property {string} floor
 * @property {string} room
 * @property {string} fixture a group's id, a blank and a position
 * @property {string} paper a sheet's id, `roll` or `own`
 * @property {string} start
 * @property {string} count how many notices
 * @property {string} date
 * @property {string} language
 * @property {string} region whose electrical code notices name; empty: none
 * @property {Record<string, string>} numbers of a roll or one's own sheet, and how far the print is moved
 */

/** Numbers that each paper needs, in the order of the form. @type {Record<string, string[]>} */
export const NUMBERS = {
  roll: ['width_mm', 'height_mm', 'gap_mm'],
  own: [
    'page_width_mm',
    'page_height_mm',
    'columns',
    'rows',
    'width_mm',
    'height_mm',
    'left_mm',
    'top_mm',
    'across_mm',
    'down_mm',
  ],
};
export const SHIFTS = ['shift_right_mm', 'shift_down_mm'];
/** Numbers without a unit. */
const COUNTS = new Set(['columns', 'rows']);

/** The numbers that a form shows. @param {string} paper */
export const numbersOf = (paper) => [...(NUMBERS[paper] ?? []), ...SHIFTS];

/**
 * A typed length in millimetres, as it is sent.
 *
 * @param {string} text `70`, `2 5/8 in`, `0`, `-1.5 mm`
 * @param {string} units what a number without a unit means: 'in' or 'mm'
 * @returns {string | null} null: it is no length
 */
export function millimetres(text, units) {
  const typed = text.trim();
  const minus = /^[-−]/.test(typed);
  const plain = typed.replace(/^[-−+]\s*/, '');
  if (/^0([.,]0+)?(\s*(mm|in))?$/.test(plain)) return '0';
  const { ticks } = parseLength(plain, units);
  if (ticks === undefined) return null;
  return `${minus ? '-' : ''}${Math.round((ticks / TICKS_PER_MM) * 1000) / 1000}`;
}

/** Whether what was typed for a number cannot be sent. @param {string} name @param {string} text @param {string} units */
export const isWrong = (name, text, units) =>
  text.trim() !== '' &&
  (COUNTS.has(name) ? !/^\d{1,3}$/.test(text.trim()) : millimetres(text, units) === null);

/**
 * Which labels: the same for the print and for the note that it is done.
 *
 * @param {PrintForm} form
 * @returns {{what: string, floor?: string, room?: string, group?: string, position?: number}}
 */
export function wantedOf({ what, floor, room, fixture }) {
  if (what === 'blank') return { what };
  const [group, position] = fixture.split(' ');
  return {
    what,
    ...(floor && { floor }),
    ...(room && { room }),
    ...(fixture && { group, position: Number(position) }),
  };
}

/**
 * The query of a print.
 *
 * @param {PrintForm} form @param {string} units what a number without a unit means
 * @returns {string} without the question mark
 */
export function queryOf(form, units) {
  const { sheet, paper, start, count, date, language, region, numbers } = form;
  /** @type {Record<string, string>} */
  const asked = { sheet, paper, start, language };
  for (const [name, value] of Object.entries(wantedOf(form))) asked[name] = String(value);
  if (sheet === 'notices' && count.trim()) asked.count = count.trim();
  if (sheet !== 'labels' && date) asked.date = date;
  if (sheet !== 'labels' && region) asked.region = region;
  for (const name of numbersOf(paper)) {
    const typed = (numbers[name] ?? '').trim();
    if (typed) asked[name] = COUNTS.has(name) ? typed : (millimetres(typed, units) ?? typed);
  }
  return new URLSearchParams(asked).toString();
}
