// What the firm's closed sites say of a kind, and whether a site that reads otherwise believes it. Twin: server/spanwalk/rules/judging/firm_numbers.py.

import * as constants from '../constants.js';
import { facet, isSeen } from '../survey.js';

/**
 * Spread of a kind over closed sites: degrees of freedom and sum of squares [1/320 mm, squared]; what it rests on.
 * @typedef {{squares_ticks2: number, degrees: number, sites: number, readings: number}} FirmSpread
 */

/** First years of bands of age, by the date on the ballast (common practice). */
const AGE_FROM = constants.AGE_FROM;
/** Degrees of freedom that the site itself must have read of a kind before anything of other sites counts; see the twin. */
export const OWN_DEGREES = constants.OWN_DEGREES;
const NOT_DATED = 'not-dated';
const YEAR = /(?<!\d)(?:19|20)\d\d(?!\d)/;

/** Band of age by the date on a ballast, as it was typed; its first year of four digits counts. @param {string} made @returns {string} */
export function ageBand(made) {
  const found = YEAR.exec(made);
  if (!found) return NOT_DATED;
  const [year, first, last] = [Number(found[0]), AGE_FROM[0], AGE_FROM[AGE_FROM.length - 1]];
  if (year < first) return `before-${first}`;
  if (year >= last) return `since-${last}`;
  const at = AGE_FROM.filter((each) => each <= year).length - 1;
  return `${AGE_FROM[at]}-${AGE_FROM[at + 1] - 1}`;
}

/** Names under which numbers of a kind are kept, the narrowest first; none where its diameter or length was not seen. @param {ViewRecord<'kind'>} kind @returns {string[]} */
export function keysOf(kind) {
  const { diameter, nominal_ft: length } = facet(kind, 'lamps');
  const body = facet(kind, 'housing').body;
  if (!isSeen(diameter) || !isSeen(length)) return [];
  const band = ageBand(facet(kind, 'ballast').made ?? '');
  const wide = `${diameter}/${length}`;
  if (body === undefined) return [wide];
  const dated = band === NOT_DATED ? [] : [`${wide}/${body}/${band}`];
  return [...dated, `${wide}/${body}`, wide];
}

/**
 * The firm's spread of a kind, where the site takes the firm's numbers and there are any; the narrowest counts.
 * @param {ViewRecord<'kind'>} kind @param {ViewRecord<'site'>} site @returns {FirmSpread | null}
 */
export function spreadFor(kind, site) {
  if (facet(site, 'learning').takes !== true) return null;
  const numbers = /** @type {{spread?: Record<string, FirmSpread>} | undefined} */ (
    facet(site, 'learnt').numbers
  );
  const spreads = numbers?.spread ?? {};
  const key = keysOf(kind).find((each) => Object.hasOwn(spreads, each));
  return key === undefined ? null : spreads[key];
}

/**
 * Whether a site's own spread is so wide that sites like the firm's would show it less than three times in ten; see
 * the twin.
 * @param {number | bigint} squaresTicks2 sum of squares of the site's own readings @param {number} degrees at least 1
 * @param {FirmSpread} firm @param {Reference['prediction']} factors prediction.json
 */
export function isOdd(squaresTicks2, degrees, firm, factors) {
  const point =
    factors.conflicts[firstFrom(factors.degrees, degrees)][firstFrom(factors.degrees, firm.degrees)];
  const own = BigInt(squaresTicks2) * BigInt(firm.degrees) * 1000n;
  return own > BigInt(point) * BigInt(firm.squares_ticks2) * BigInt(degrees);
}

/** Place of the first entry that is no less than a value, or the last. @param {number[]} sorted @param {number} value */
function firstFrom(sorted, value) {
  const at = sorted.findIndex((each) => each >= value);
  return at < 0 ? sorted.length - 1 : at;
}
