// Which bars of the catalogue could lie in one cavity, alone or end to end? Twin: server/spanwalk/rules/fit/bar_rows.py.

import * as constants from '../constants.js';
import { inOrder } from '../survey.js';
import { jointsTicks } from './fit.js';

/** @typedef {ViewRecord<'catalogue_item'>} Item */

/** A driver feeds one to four bars. */
const MOST_BARS = constants.MOST_BARS;
/** Of a huge catalogue, the rows of several bars that light most. */
const MOST_ROWS = constants.MOST_ROWS;
/** Several bars up to 3 mm too long are still shown, with what is missing. */
const OVER_TICKS = constants.OVER_TICKS;
/** Bars end to end have one section and one cover, or they would not line up. */
const SECTION = /** @type {const} */ (['width_ticks', 'height_ticks', 'cover']);

/** The `bar` facet of a catalogue item. @param {Item} item @returns {import('./fit.js').Bar} */
export const barOf = (item) => /** @type {import('./fit.js').Bar} */ (item.facets.bar);
/** Whether an item may be chosen: nobody said that it is not offered, is retired or was recalled. @param {Item} item */
export const isOffered = ({ facets }) =>
  facets.identity?.offered !== false &&
  facets.retired?.retired !== true &&
  Object.keys(facets.recall ?? {}).length === 0;
/** Lit length of bars end to end [1/320 mm]. @param {Item[]} row @returns {number} */
export const litTicks = (row) => row.reduce((total, item) => total + barOf(item).lit_ticks, 0);
/** Ids of the items of a row, in order. @param {Item[]} row */
export const ids = (row) => row.map((item) => item.id);

/** Length of bars end to end, joints in it, without tolerance [1/320 mm]. @param {Item[]} row @returns {number} */
export function nominalTicks(row) {
  return row.reduce((total, item) => total + barOf(item).length_ticks, 0) + jointsTicks(row.map(barOf));
}

/**
 * Order of lists of ids, as of words in a dictionary. @param {string[]} a @param {string[]} b @returns {number}
 */
export function inOrderOfIds(a, b) {
  for (let at = 0; at < Math.min(a.length, b.length); at += 1) {
    if (a[at] !== b[at]) return inOrder(a[at], b[at]);
  }
  return a.length - b.length;
}

/**
 * Rows of bars worth judging in a cavity: a bar by itself, unless it is a third longer than the cavity; two to four
 * bars of one section, of at most two sorts, the longer first. Rows that leave more than a third dark are left out.
 * @param {Item[]} items catalogue items with a `bar` facet
 * @param {number | null} cavityTicks shortest cavity read, or the lamp's length; null where neither is known
 * @returns {Item[][]} items of each row in the order they lie
 */
export function barRows(items, cavityTicks) {
  const ordered = items
    .filter(isOffered)
    .sort((a, b) => barOf(b).length_ticks - barOf(a).length_ticks || inOrder(a.id, b.id));
  if (cavityTicks === null) return ordered.map((item) => [item]);
  const single = ordered
    .filter((item) => 3 * barOf(item).length_ticks <= 4 * cavityTicks)
    .map((item) => [item]);
  const lit = (/** @type {Item[]} */ row) => 3 * (cavityTicks - litTicks(row)) <= cavityTicks;
  const most = cavityTicks + OVER_TICKS;
  const several = [...every(ordered, most)]
    .filter((row) => nominalTicks(row) <= most && lit(row))
    .sort((a, b) => litTicks(b) - litTicks(a) || a.length - b.length || inOrderOfIds(ids(a), ids(b)));
  return [...single.filter(lit), ...several.slice(0, MOST_ROWS)];
}

/**
 * Two to four bars of one section, at most two sorts, the longer first.
 * @param {Item[]} ordered @param {number} mostTicks
 */
function* every(ordered, mostTicks) {
  for (const [at, long] of ordered.entries()) {
    const most = Math.min(MOST_BARS, Math.floor(mostTicks / barOf(long).length_ticks));
    for (let count = 1; count <= most; count += 1) {
      const first = Array(count).fill(long);
      if (count > 1) yield first;
      for (const short of ordered.slice(at + 1)) {
        if (SECTION.some((name) => barOf(short)[name] !== barOf(long)[name])) continue;
        for (let more = 1; more <= MOST_BARS - count; more += 1) yield [...first, ...Array(more).fill(short)];
      }
    }
  }
}
