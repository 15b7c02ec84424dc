// Does a bar, or several end to end, fit between the sockets of a row? Twin: server/spanwalk/rules/fit/fit.py.
// clearance = trusted cavity - bars with their tolerances - joints - change of length - an end gap at each end.
// Lengths are ticks of 1/320 mm; margins are rounded up.

import * as constants from '../constants.js';
import { ceilDiv } from '../integer_math.js';

/** @typedef {{material: string, coldest_c: number, hottest_c: number}} Surroundings */
/** @typedef {import('../../records.d.ts').CatalogueItemFacets['bar'] & {}} Bar */

/** Temperatures come with at most four decimal places. */
const TEN_THOUSANDTHS = constants.TEN_THOUSANDTHS;
/** Coefficients are tenths of a millionth per kelvin. */
const PER_KELVIN = constants.PER_KELVIN;
/** From the best to the worst. */
export const VERDICTS = constants.VERDICTS;

/**
 * What bars gain on their housing at the worse end of the temperature range, from 20 °C. The bars are lit and run
 * warmer than the air by their own rise; the housing has the air's temperature.
 * @param {Bar[]} bars `bar` facets @param {number} cavityTicks cavity length [1/320 mm]
 * @param {Surroundings} around @param {Reference['expansion']} expansion expansion.json
 * @returns {number} length lost [1/320 mm], rounded up; never below 0, since bars are put in at 20 °C
 */
export function changeOfLength(bars, cavityTicks, around, expansion) {
  const housing = housingOf(around.material, expansion);
  const gains = [around.coldest_c, around.hottest_c].map((airC) =>
    gain(bars, cavityTicks, exact(airC) - exact(expansion.reference_c), housing, expansion),
  );
  return Math.max(0, ...gains);
}

/**
 * Growth of the bars less that of the housing, the air warmer than 20 °C by so many ten-thousandths of a kelvin.
 * @param {Bar[]} bars @param {number} cavityTicks @param {number} warmer @param {{least: number, most: number}} housing
 * @param {Reference['expansion']} expansion
 */
function gain(bars, cavityTicks, warmer, housing, expansion) {
  const grown = bars.reduce(
    (total, bar) =>
      total + BigInt(bar.length_ticks) * BigInt(ofBar(bar, expansion)) * BigInt(warmer + exact(bar.rise_k)),
    0n,
  );
  const housingAtLeast = Math.min(housing.least * warmer, housing.most * warmer);
  return ceilDiv(grown - BigInt(cavityTicks) * BigInt(housingAtLeast), PER_KELVIN * TEN_THOUSANDTHS);
}

/** A decimal of at most four places as a whole number of ten-thousandths. @param {number} value */
const exact = (value) => Math.round(value * TEN_THOUSANDTHS);

/** Coefficient of a bar: that of its captive cover if it has one. @param {Bar} bar @param {Reference['expansion']} expansion @returns {number} */
const ofBar = (bar, expansion) =>
  /** @type {{coefficient: number}} */ (expansion.bars.find((row) => row.cover === bar.cover)).coefficient;

/**
 * Row of a housing's material; a material that the table does not name counts as 'not-seen'.
 * @param {string} material @param {Reference['expansion']} expansion @returns {{least: number, most: number}}
 */
function housingOf(material, expansion) {
  const row = (/** @type {string} */ name) => expansion.housings.find((each) => each.material === name);
  return /** @type {{least: number, most: number}} */ (row(material) ?? row('not-seen'));
}

/**
 * Verdict on bars end to end in one cavity.
 * @param {Trusted} trusted what `trustedCavity` gives @param {Bar[]} bars `bar` facets in order, not empty
 * @param {Surroundings} around @param {Reference['expansion']} expansion expansion.json
 * @returns {RowVerdict} see the twin
 */
export function fitRow(trusted, bars, around, expansion) {
  const terms = termsOf(trusted, bars, around, expansion);
  const known = trusted.trusted_ticks;
  const clearance = known === null ? null : known - terms.needed_ticks;
  const verdict = verdictOf(trusted.status, clearance, terms.nominal_clearance_ticks);
  return {
    verdict,
    clearance_ticks: clearance,
    terms: { ...(known === null ? {} : { trusted_ticks: known }), ...terms },
    reasons: reasonsOf(verdict, clearance, terms, trusted),
  };
}

/**
 * What bars need of a cavity, part by part.
 * @param {Trusted} trusted @param {Bar[]} bars @param {Surroundings} around @param {Reference['expansion']} expansion
 * @returns {Record<string, number>}
 */
function termsOf(trusted, bars, around, expansion) {
  const shortest = trusted.terms.shortest_ticks;
  const nominal = bars.reduce((total, bar) => total + bar.length_ticks, 0);
  const parts = {
    bars_ticks: nominal,
    tolerance_ticks: bars.reduce((total, bar) => total + bar.tolerance_ticks, 0),
    joints_ticks: jointsTicks(bars),
    change_ticks: changeOfLength(bars, shortest ?? trusted.trusted_ticks ?? nominal, around, expansion),
    end_gaps_ticks: 2 * Math.max(...bars.map((bar) => bar.end_gap_ticks)),
  };
  const needed = Object.values(parts).reduce((total, each) => total + each, 0);
  /** @type {Record<string, number>} */
  const terms = { ...parts, needed_ticks: needed };
  if (shortest !== undefined) terms.nominal_clearance_ticks = shortest - nominal - parts.joints_ticks;
  return terms;
}

/** Joints between bars end to end, the wider of two neighbours' [1/320 mm]. @param {Bar[]} bars @returns {number} */
export function jointsTicks(bars) {
  return bars.slice(1).reduce((total, bar, at) => total + Math.max(bars[at].joint_ticks, bar.joint_ticks), 0);
}

/** @param {string} status @param {number | null} clearance @param {number | undefined} nominal */
function verdictOf(status, clearance, nominal) {
  if (nominal !== undefined && nominal < 0) return 'too long';
  if (status !== 'known' || clearance === null) return 'cannot tell';
  if (clearance >= 0) return 'fits';
  return nominal === undefined ? 'cannot tell' : 'tight';
}

/**
 * Why, as codes and facts; lengths are positive.
 * @param {string} verdict @param {number | null} clearance @param {Record<string, number>} terms
 * @param {Trusted} trusted @returns {{code: string, facts: Facts}[]}
 */
function reasonsOf(verdict, clearance, terms, trusted) {
  const nominal = terms.nominal_clearance_ticks;
  if (verdict === 'too long') return [{ code: 'fit.too-long', facts: { over_ticks: -nominal } }];
  if (verdict === 'fits') return [{ code: 'fit.fits', facts: { clearance_ticks: clearance } }];
  if (verdict === 'tight') {
    const short = terms.needed_ticks - /** @type {number} */ (trusted.trusted_ticks);
    return [{ code: 'fit.tight', facts: { short_ticks: short, nominal_clearance_ticks: nominal } }];
  }
  if (trusted.reasons.length) return trusted.reasons.map((each) => ({ ...each }));
  return [{ code: 'fit.not-proved', facts: { needed_ticks: terms.needed_ticks } }];
}
