// A number as it was typed: 3500 and 3.5 are told apart, and what could be both is asked about.

import { checkField } from '../forms/field_checks.js';
import { numberText } from '../numbers.js';
import { withoutUnit } from './other_unit.js';

/** @typedef {import('../forms/field_checks.js').Field} Field */
/** @typedef {import('../forms/field_checks.js').Problem} Problem */

/**
 * What was read: a number; or two that it could be, each as it can be typed without a doubt.
 *
 * @typedef {{number: number, unclear?: undefined} | {number?: undefined, unclear: {whole: string, decimal: string}}} TypedNumber
 */

const PLAIN = /^-?(\d+([.,]\d+)?|[.,]\d+)$/;
/** Thousands by one mark, the decimals by the other, or none where two marks cannot be of decimals. */
const GROUPED = [
  { thousands: ',', decimal: '.', like: /^-?[1-9]\d{0,2}(?:(?:,\d{3})+\.\d+|(?:,\d{3}){2,})$/ },
  { thousands: '.', decimal: ',', like: /^-?[1-9]\d{0,2}(?:(?:\.\d{3})+,\d+|(?:\.\d{3}){2,})$/ },
];
/** One mark with three digits after it: of thousands, or of decimals. */
const EITHER = /^(-?[1-9]\d{0,2})([.,])(\d{3})$/;
/** The same in a row of numbers: a mark of thousands, or what stands between two. */
const EITHER_IN_ROW = /(?:^|[\s;,])([1-9]\d?),(\d{3})(?!\d)/;

/** The decimal mark of who reads. */
const decimalMark = () => (numberText(1.5, 1).includes(',') ? ',' : '.');

/**
 * The number that was typed.
 *
 * A comma with three digits after it is what English parts thousands by and Spanish decimals: neither is guessed. So is a point
 * for who reads decimals with a comma.
 *
 * @param {string} text @returns {TypedNumber | null} null: it is no number
 */
export function typedNumber(text) {
  const typed = text.trim().replace('−', '-');
  const grouped = GROUPED.find(({ like }) => like.test(typed));
  if (grouped)
    return { number: Number(typed.replaceAll(grouped.thousands, '').replace(grouped.decimal, '.')) };
  const [, whole, mark, rest] = EITHER.exec(typed) ?? [];
  if (mark && (mark === ',' || decimalMark() === ','))
    return { unclear: { whole: whole + rest, decimal: asDecimal(whole, rest) } };
  return PLAIN.test(typed) ? { number: Number(typed.replace(',', '.')) } : null;
}

/** With decimals that nobody takes for thousands. @param {string} whole @param {string} rest three digits */
function asDecimal(whole, rest) {
  const short = rest.replace(/0+$/, '');
  if (short === '') return whole;
  return `${whole}${decimalMark()}${short.length === rest.length && decimalMark() === ',' ? `${rest}0` : short}`;
}

/**
 * Two things that a row of whole numbers could be: 3500, or 3 and 500.
 *
 * @param {string} text @returns {{whole: string, decimal: string} | null} null: it is clear
 */
export function unclearInRow(text) {
  const [, first, second] = EITHER_IN_ROW.exec(text) ?? [];
  return first ? { whole: first + second, decimal: `${first}, ${second}` } : null;
}

/** Why what was typed is no number, or which of two. @param {Pick<Field, 'title' | 'of'>} field @param {string} value @param {{whole: string, decimal: string} | null} [unclear] @returns {Problem} */
export const notRead = ({ title, of }, value, unclear) =>
  unclear
    ? { code: 'field.mark-unclear', facts: { title, value, ...unclear } }
    : { code: 'field.not-a-number', facts: { title, value, example: of.example } };

/**
 * The number that was typed for a field, in the field's own unit: '90 F' is 32.2 where records have °C.
 *
 * @param {Pick<Field, 'unit'>} field @param {string} text @returns {TypedNumber | null} null: it is no number
 */
export function typedFor({ unit }, text) {
  const { bare, into } = withoutUnit(text, unit);
  const read = typedNumber(bare);
  return read?.number === undefined ? read : { number: into(read.number) };
}

/**
 * The number that was typed for a field, or what is wrong with it.
 *
 * @param {Field} field @param {string} text @returns {{number?: number, problem: Problem | null}} neither: nothing was typed
 */
export function numberFor(field, text) {
  if (text.trim() === '') return { problem: null };
  const read = typedFor(field, text);
  if (read?.number === undefined) return { problem: notRead(field, text, read?.unclear) };
  const problem = checkField(field, read.number);
  return problem ? { problem } : { number: read.number, problem };
}
