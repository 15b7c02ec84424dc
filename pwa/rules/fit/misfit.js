// What would it cost if a bar did not go in? Twin: server/spanwalk/rules/fit/misfit.py.

import * as constants from '../constants.js';
import { ceilDiv } from '../integer_math.js';

/** Money and minutes come with at most four decimal places. */
const TEN_THOUSANDTHS = constants.TEN_THOUSANDTHS;
/** Ten-thousandths in a hundredth. */
const PER_CENT = constants.PER_CENT;
const MINUTES_AN_HOUR = constants.MINUTES_AN_HOUR;

/** A decimal of at most four places as a whole number of ten-thousandths. @param {number} value */
const exact = (value) => Math.round(value * TEN_THOUSANDTHS);
/** @param {number | undefined} value */
const exactOr = (value) => (value === undefined ? null : exact(value));

/**
 * Cost of one row of bars that does not go into its cavity: another row, somebody to fit it, and where the room needs
 * an access platform one more day of it.
 * @param {string[]} bars item ids of the row
 * @param {Record<string, {each?: number, fit_minutes?: number}>} prices by item id
 * @param {ValueOf<'money', 'identity'>} money `identity` facet of the site's money record; empty where it may not be seen
 * @param {string} access the room's access
 * @returns {Misfit} see the twin
 */
export function misfitCost(bars, prices, money, access) {
  const known = bars.map((bar) => prices[bar] ?? {});
  const needsLift = access === 'platform';
  const parts = {
    lift: needsLift ? exactOr(money.lift_per_day) : 0,
    bars: known.some((price) => price.each === undefined)
      ? null
      : sum(known.map(({ each }) => exact(each ?? 0))),
    labour: labourOf(known, money),
  };
  const cents = Object.entries(parts).map(
    ([name, value]) =>
      /** @type {[string, number | null]} */ ([
        `${name}_cents`,
        value === null ? null : ceilDiv(value, PER_CENT),
      ]),
  );
  const missing = Object.entries(parts).flatMap(([name, value]) => (value === null ? [name] : []));
  const total = missing.length ? null : sum(cents.map(([, value]) => value ?? 0));
  const costs = /** @type {Pick<Misfit, 'lift_cents' | 'bars_cents' | 'labour_cents'>} */ (
    Object.fromEntries(cents)
  );
  return { ...costs, total_cents: total, missing, needs_lift: needsLift };
}

/**
 * Minutes to fit the bars, once more, at the price of labour.
 * @param {Array<{fit_minutes?: number}>} prices @param {ValueOf<'money', 'identity'>} money @returns {number | null}
 */
function labourOf(prices, money) {
  if (money.labour_per_h === undefined || prices.some((price) => price.fit_minutes === undefined))
    return null;
  const minutes = sum(prices.map(({ fit_minutes }) => exact(fit_minutes ?? 0)));
  return ceilDiv(BigInt(minutes) * BigInt(exact(money.labour_per_h)), MINUTES_AN_HOUR * TEN_THOUSANDTHS);
}

/** @param {number[]} values @returns {number} */
const sum = (values) => values.reduce((total, each) => total + each, 0);
