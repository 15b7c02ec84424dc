// What was fitted, as it is edited and as it is saved.

import { differences } from '../../rules/installing/as_fitted.js';
import { numberText } from '../numbers.js';
import { say } from '../words.js';

/** @typedef {import('../../rules/installing/as_fitted.js').FittedItem} FittedItem */
/** What somebody says was fitted otherwise, half typed or whole. @typedef {{items: FittedItem[], reason?: ValueOf<'installation', 'as_fitted'>['reason'], note?: string}} Edit */

/** To begin with: all as released. @param {FittedItem[]} released @returns {Edit} */
export const editOf = (released) => ({ items: released.map((each) => ({ ...each })) });

/** Where it differs, somebody says why. @param {Edit | null} edit @param {FittedItem[]} released @returns {Reason | null} */
export function fittedProblem(edit, released) {
  if (!edit) return null;
  if (edit.items.some(({ code }) => !code.trim())) return { code: 'card.fitted-without-code', facts: {} };
  const otherwise = differences(released, edit.items).length > 0;
  return otherwise && !edit.reason ? { code: 'card.say-why-fitted', facts: {} } : null;
}

/** The facet that is saved. @param {Edit | null} edit null: as released @param {FittedItem[]} released @returns {ValueOf<'installation', 'as_fitted'>} */
export function fittedValue(edit, released) {
  if (!edit) return { as_released: true };
  const otherwise = differences(released, edit.items).length > 0;
  const items = edit.items.map(tidy);
  const said = otherwise || items.some(({ serials, spare }) => serials || spare);
  const note = edit.note?.trim();
  return {
    as_released: !otherwise,
    ...(said && { items }),
    ...(otherwise && { reason: edit.reason }),
    ...(note && { note }),
  };
}

/** Without what says nothing. @param {FittedItem} item @returns {FittedItem} */
function tidy({ rows, serials, spare, ...item }) {
  return {
    ...item,
    code: item.code.trim(),
    ...(rows?.length && { rows }),
    ...(serials?.length && { serials }),
    ...(spare && { spare }),
  };
}

/** @param {number[]} rows */
export const rowsText = (rows) => say(rows.length === 1 ? 'card.in-row' : 'card.in-rows', { rows });

/** One item as it is read. @param {FittedItem} item @returns {string} */
export function itemText({ kind, code, number, rows, setting_ma, serials, spare }) {
  return [
    `${numberText(number)} × ${code}`,
    setting_ma !== undefined && kind === 'driver' && `${setting_ma} mA`,
    rows?.length && rowsText(rows),
    serials?.length && serials.join(', '),
    spare && say('card.from-spares'),
  ]
    .filter(Boolean)
    .join(', ');
}

const MOST_LETTERS = 400;

/** All of it on one line, as tables and older phones show it. @param {FittedItem[]} items */
export const fittedText = (items) =>
  items
    .filter(({ number }) => number > 0)
    .map(({ serials: _, ...item }) => itemText(item))
    .join('; ')
    .slice(0, MOST_LETTERS);

/** @param {string} record @param {ValueOf<'installation', 'as_fitted'>} value @param {string | null} [seen] @returns {Draft} */
export const fittedDraft = (record, value, seen = null) => ({
  record,
  type: 'installation',
  facet: 'as_fitted',
  value,
  seen,
});
