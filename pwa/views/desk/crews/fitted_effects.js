// What it does to light and order that something else was fitted than released.

import { differences, fittedItems, releasedAt } from '../../../rules/installing/as_fitted.js';
import { facet, fixturesOf, inOrder } from '../../../rules/survey.js';

/** @typedef {import('../../../rules/installing/as_fitted.js').FittedItem} FittedItem */
/** @typedef {import('../../../rules/installing/as_fitted.js').FittedDifference} FittedDifference */
/** Catalogue items by code. @typedef {Map<string, RecordView<'catalogue_item'>>} Catalogue */

const MA_IN_AN_AMPERE = 1000;
const PER_CENT = 100;

/**
 * Lumens of a set of bars on its drivers when new, before what the body and its optic keep back; null where an item is not
 * in the catalogue, or nothing in the set drives the bars.
 *
 * Each driver has its share of the bars. Where its setting is shared by the bars, or they are in parallel on an output,
 * the current is divided among them; in series each gets all of it (as in rules/arrangements/wiring/wiring.md).
 *
 * @param {FittedItem[]} items of one fixture @param {Catalogue} catalogue @returns {number | null} [lm]
 */
export function lumensOf(items, catalogue) {
  const bars = items.filter(({ kind }) => kind === 'bar');
  const count = sum(bars.map(({ number }) => number));
  if (count === 0) return 0;
  const ma = currentOf(
    items.filter(({ kind }) => kind === 'driver'),
    count,
    catalogue,
  );
  const lumens = bars.map(({ code, number }) => {
    const bar = facet(catalogue.get(code), 'bar');
    if (ma === null || bar.lumens_per_w === undefined || bar.forward_v === undefined) return null;
    return (number * bar.lumens_per_w * bar.forward_v * ma) / MA_IN_AN_AMPERE;
  });
  return lumens.some((each) => each === null) ? null : sum(lumens.map(Number));
}

/** The current of each bar [mA]; null where it is not known. @param {FittedItem[]} drivers @param {number} bars @param {Catalogue} catalogue */
function currentOf(drivers, bars, catalogue) {
  const [driver] = drivers;
  const told = facet(catalogue.get(driver?.code ?? ''), 'driver');
  if (drivers.length !== 1 || !driver.setting_ma || !told.outputs || driver.number < 1) return null;
  const each = Math.ceil(bars / driver.number);
  const onAnOutput = Math.ceil(each / told.outputs);
  const branches = told.bars_joined === 'in-series' ? Math.ceil(each / onAnOutput) : each;
  const paths =
    told.current === 'shared-by-the-bars' ? branches : told.bars_joined === 'in-series' ? 1 : onAnOutput;
  return driver.setting_ma / paths;
}

/** @param {number[]} numbers */
const sum = (numbers) => numbers.reduce((all, each) => all + each, 0);

/**
 * @typedef {{released: FittedItem[], fitted: FittedItem[], differs: FittedDifference[], lightPct: number | null}} Effect
 *   `lightPct`: light as fitted against that released [%]; null: not known
 */

/** What one fixture's difference comes to. @param {RecordView<'installation'>} installation @param {RecordView<'conversion'> | undefined} conversion @param {RecordView<'group'>} group @param {Catalogue} catalogue @returns {Effect} */
export function effectOf(installation, conversion, group, catalogue) {
  const position = Number(facet(installation, 'identity').position ?? 0);
  const released = releasedAt(conversion, position, fixturesOf(group));
  const fitted = fittedItems(installation, released) ?? [];
  const [before, after] = [lumensOf(released, catalogue), lumensOf(fitted, catalogue)];
  const known = before !== null && after !== null && before > 0;
  return {
    released,
    fitted,
    differs: differences(released, fitted),
    lightPct: known ? Math.round((after / before) * PER_CENT) : null,
  };
}

/** How many more or fewer of each item were fitted than released, by code. @param {Effect[]} effects @returns {Array<{code: string, more: number}>} */
export function orderChange(effects) {
  /** @type {Map<string, number>} */
  const found = new Map();
  for (const { code, released, fitted } of effects.flatMap(({ differs }) => differs))
    found.set(code, (found.get(code) ?? 0) + fitted - released);
  return [...found]
    .filter(([, more]) => more !== 0)
    .sort(([a], [b]) => inOrder(a, b))
    .map(([code, more]) => ({ code, more }));
}

/**
 * Spare pieces that releases ordered, by code, as far as their sums were frozen.
 *
 * @param {RecordView<'release_sums'>[]} sums @param {Map<string, RecordView<'release'>>} releases by id @returns {Map<string, number>}
 */
export function sparesOrdered(sums, releases) {
  const whole = sums.filter((each) => facet(each, 'identity').group === undefined);
  const number = (/** @type {RecordView<'release_sums'>} */ each) =>
    Number(facet(releases.get(each.parent ?? ''), 'identity').number ?? 0);
  // Each release counts all that is needed so far: the newest says how many spares there are to be.
  const newest = whole.sort((a, b) => number(a) - number(b)).at(-1);
  const { order = [] } = /** @type {{order?: Array<{code: string, spare: number, for_misfits: number}>}} */ (
    facet(newest, 'identity').figures ?? {}
  );
  return new Map(order.map(({ code, spare, for_misfits: misfits }) => [code, spare + misfits]));
}
