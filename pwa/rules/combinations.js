// Which values within one facet cannot stand together? Twin: server/spanwalk/rules/combinations.py.
// The table `combinations` says which fields are held against which; the rules here are the ways of doing so. Values
// that were not entered, or not seen, are never held against anything.

import * as constants from './constants.js';
import { ceilDiv } from './integer_math.js';
import { formatMm } from './measuring/lengths.js';

/** @typedef {CombinationRow} Row of the table */
/** @typedef {{field: string, code: string, facts: Record<string, string>}} Broken */
/** What else the sentence tells, each with its unit; null where the values can stand together. @typedef {Record<string, [unknown, string]> | null} More */

/** A field has at most four decimal places: so many steps make it whole. */
const DECIMAL_STEPS = constants.DECIMAL_STEPS;

/**
 * What is held against what in a facet.
 * @param {string} type @param {string} facet @param {Reference} tables reference tables: `combinations`, where it is there
 * @returns {Row[]}
 */
export const rowsOf = (type, facet, tables) =>
  (tables.combinations?.rows ?? []).filter((row) => row.type === type && row.facet === facet);

/**
 * What in a facet's value cannot stand together, in the order of the table; empty where all of it can be.
 *
 * @param {Value} value each field right by itself @param {Row[]} rows those of `rowsOf` the facet
 * @param {Record<string, SpecField>} fields the facet's fields as the spec has them
 * @returns {Broken[]}
 */
export function broken(value, rows, fields) {
  /** @type {Broken[]} */
  const found = [];
  for (const row of rows) {
    const needed = [row.field, row.other ?? row.field, row.volts ?? row.field];
    if (needed.some((name) => value[name] === undefined)) continue;
    const more = RULES[row.rule](value, row);
    if (more === null) continue;
    const told = Object.entries(more).map(([name, [said, unit]]) => [name, textOf(said, unit)]);
    const facts = { ...named(value, row, fields), ...Object.fromEntries(told) };
    found.push({ field: row.field, code: `combination.${row.rule}`, facts });
  }
  return found;
}

/** @type {Array<['' | 'other' | 'volts', 'field' | 'other' | 'volts']>} */
const NAMED = [
  ['', 'field'],
  ['other', 'other'],
  ['volts', 'volts'],
];

/** The fields by their titles, with their values to read. @param {Value} value @param {Row} row @param {Record<string, SpecField>} fields */
function named(value, row, fields) {
  /** @type {Record<string, string>} */
  const found = {};
  for (const [prefix, key] of NAMED.filter(([, each]) => row[each] !== undefined)) {
    const { title, type, unit = '' } = fields[row[key]];
    const said = value[row[key]];
    found[prefix ? `${prefix}_title` : 'title'] = title;
    found[prefix || 'value'] = type === 'length' ? textOf(formatMm(said), 'mm') : textOf(said, unit);
  }
  return found;
}

/** @param {unknown} said @param {string} unit */
function textOf(said, unit) {
  const text = Array.isArray(said) ? said.join(', ') : String(said);
  return text && unit ? `${text} ${unit}` : text;
}

/** @param {number} number */
const steps = (number) => Math.round(number * DECIMAL_STEPS);

/** @type {Record<string, (value: Value, row: Row) => More>} */
const RULES = {
  'not-above': (value, row) => (value[row.field] > value[row.other] ? {} : null),
  below: (value, row) => (value[row.field] >= value[row.other] ? {} : null),
  pairs(value, row) {
    const [right, other] = [row.pairs[value[row.field]], value[row.other]];
    const wrong = right && Object.values(row.pairs).flat().includes(other) && !right.includes(other);
    return wrong ? { right: [right.join(' or '), ''] } : null;
  },
  'not-when'(value, row) {
    const said = value[row.field];
    const says = row.values
      ? row.values.includes(said)
      : Array.isArray(said)
        ? said.length > 0
        : Boolean(said);
    return says && row.when.includes(value[row.other]) ? {} : null;
  },
  positions(value, row) {
    /** @type {number[]} */
    const gone = value[row.field];
    const most = value[row.other] + gone.length;
    const beyond = gone.filter((each) => each > most);
    return beyond.length ? { value: [beyond, ''], number: [gone.length, ''], right: [most, ''] } : null;
  },
  'most-times'(value, row) {
    const most = row.times * value[row.other];
    return value[row.field] > most ? { right: [most, ''] } : null;
  },
  filled: (value, row) => (value[row.field].length ? null : {}),
  /** Milliamperes times volts, in ten-thousandths, against watts; the watts told are rounded up to a tenth. */
  power(value, row) {
    const [volts, watts] = [steps(value[row.volts]), steps(value[row.other])];
    const over = value[row.field].filter((/** @type {number} */ each) => each * volts > 1000 * watts);
    if (!over.length) return null;
    const most = Math.max(...over);
    const tenths = ceilDiv(most * volts, 100 * DECIMAL_STEPS);
    return { value: [most, 'mA'], needs: [`${Math.floor(tenths / 10)}.${tenths % 10}`, 'W'] };
  },
};
