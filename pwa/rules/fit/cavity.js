// How long is every cavity of a group, at least, from the few that were read? Twin: server/spanwalk/rules/fit/cavity.py.
// One-sided 95 % throughout. Cavities are rounded down, spreads and margins up; lengths are ticks of 1/320 mm.

import * as constants from '../constants.js';
import { ceilDiv, ceilSqrt, floorDiv } from '../integer_math.js';
import { isOdd, OWN_DEGREES } from '../judging/firm_numbers.js';
import { couldBeShorter, factorThousandths } from './prediction.js';

/**
 * One cavity that was read, all its readings joined. `inside` is false where its fixture or row is not among
 * those counted.
 * @typedef {{length_ticks: number, systematic_ticks: number, expanded_ticks: number, graduation_ticks: number,
 *   inside: boolean}} Cavity
 */
/**
 * Sum of squares [1/320 mm, squared] about the mean, and its degrees of freedom. The sum may be a bigint.
 * @typedef {{squares_ticks2: number | bigint, degrees: number}} Spread
 */
/**
 * What is known of the cavities of one group; see the twin.
 * @typedef {{cavities: Cavity[], population: number | null, elsewhere: Spread, spread_floor_ticks: number,
 *   lamp_ticks: number | null, alike: string, gauged_ticks: number[], stopped_ticks: number[],
 *   spring_back?: import('./spring_back.js').SpringBack | null, asked?: number,
 *   firm?: import('../judging/firm_numbers.js').FirmSpread | null}} Sample
 */
/** @typedef {{code: string, facts: Facts}} Reason */
/** @typedef {[number, string]} Bound */

/** Two makes of socket stand at least 2 mm apart; less is one make, loosely fitted (common practice). */
const LEAST_GAP_TICKS = constants.LEAST_GAP_TICKS;
/** The gap between two clusters is more than twice as wide as either cluster (common practice). */
const GAP_TO_RANGE = constants.GAP_TO_RANGE;
/** One cavity by itself is a bent pair or a slip, not a make. */
const CLUSTER_LEAST = constants.CLUSTER_LEAST;
/** Nobody reads more than a hundred further cavities; beyond that, only reading all of them is of use. */
const MOST_MORE = constants.MOST_MORE;
/** What a trusted cavity rests on; of equal lengths the later is named. */
const BASES = constants.BASES;
/** Status of a cavity whose verdict is held back, by the first reason. @type {Record<string, string>} */
const HELD_BY = {
  'cavity.two-clusters': 'two clusters',
  'cavity.two-makes-seen': 'two clusters',
  'cavity.reading-asked': 'reading asked',
};
/** Where nothing was read: two give a spread, a third shows whether one of them is wild (common practice). */
const FIRST_READINGS = constants.FIRST_READINGS;

/** @param {number[]} values */
const sum = (values) => values.reduce((total, each) => total + each, 0);
/** @param {number[]} values */
const meanDown = (values) => floorDiv(sum(values), values.length);
/** @param {Sample} sample */
const lengthsOf = (sample) => sample.cavities.map((each) => each.length_ticks);
/** @param {Sample} sample */
const readInside = (sample) => sample.cavities.filter((each) => each.inside).length;

/**
 * Several readings of one cavity as one: their mean, since reading twice must not be punished by the lower of two
 * honest readings. What is random falls with the number of readings, what is systematic stays.
 * @param {[number, number, number, number][]} readings length, systematic part, random part, smallest division; not empty
 * @param {boolean} [inside] whether the cavity is one of those counted
 * @returns {Cavity}
 */
export function joined(readings, inside = true) {
  const systematic = Math.max(...readings.map((each) => each[1]));
  const random = Math.max(...readings.map((each) => each[2]));
  return {
    length_ticks: meanDown(readings.map((each) => each[0])),
    systematic_ticks: systematic,
    expanded_ticks: ceilSqrt(systematic ** 2 + ceilDiv(random ** 2, readings.length)),
    graduation_ticks: Math.max(...readings.map((each) => each[3])),
    inside,
  };
}

/**
 * Spread within one group, about its mean rounded down, which can only make it greater.
 * @param {number[]} lengthsTicks lengths of different cavities @returns {Spread}
 */
export function spreadOf(lengthsTicks) {
  if (!lengthsTicks.length) return { squares_ticks2: 0, degrees: 0 };
  const mean = meanDown(lengthsTicks);
  const squares = lengthsTicks.reduce((total, each) => total + BigInt(each - mean) ** 2n, 0n);
  return { squares_ticks2: squares, degrees: lengthsTicks.length - 1 };
}

/** Spreads of several groups as one. @param {Spread[]} spreads @returns {Spread} */
export function pooled(spreads) {
  return {
    squares_ticks2: spreads.reduce((total, each) => total + BigInt(each.squares_ticks2), 0n),
    degrees: sum(spreads.map((each) => each.degrees)),
  };
}

/**
 * What is left of pooled spreads when one of them is taken out.
 * @param {Spread} whole @param {Spread} part @returns {Spread}
 */
export function without(whole, part) {
  const squares = BigInt(whole.squares_ticks2) - BigInt(part.squares_ticks2);
  return { squares_ticks2: squares, degrees: whole.degrees - part.degrees };
}

/**
 * Gap between two clusters of lengths, as two makes of socket would leave: at least 2 mm, more than twice either
 * cluster's range, two cavities on each side.
 * @param {number[]} lengthsTicks lengths of different cavities of a group @returns {number | null}
 */
export function gapBetweenClusters(lengthsTicks) {
  const ordered = [...lengthsTicks].sort((a, b) => a - b);
  let [gap, split] = [-1, 0];
  for (let at = CLUSTER_LEAST; at <= ordered.length - CLUSTER_LEAST; at += 1) {
    const here = ordered[at] - ordered[at - 1];
    if (here >= gap) [gap, split] = [here, at];
  }
  if (gap < LEAST_GAP_TICKS) return null;
  const widest = Math.max(ordered[split - 1] - ordered[0], ordered[ordered.length - 1] - ordered[split]);
  return gap > GAP_TO_RANGE * widest ? gap : null;
}

/**
 * The length that every cavity of a group has, at 95 %. All read: the shortest less its uncertainty. Some read:
 * mean - r s, never above the shortest, less the systematic part of the uncertainty; or what the lamps prove, if
 * that is more. Never above the shortest reading less its uncertainty.
 * @param {Sample} sample the group's cavities @param {Reference['prediction']} factors prediction.json
 * @returns {Trusted} see the twin
 */
export function trustedCavity(sample, factors) {
  const m = notRead(sample);
  const limit = limitFor(sample, m, 0, factors);
  const bounds = m === null ? [] : boundsOf(sample, m, factors);
  const holding = [...twoMakes(sample, m), ...askedOf(sample)];
  const best = greatest(bounds);
  const read = greatest(bounds.filter(([, basis]) => basis !== 'lamp'));
  const gap = holding.find(({ facts }) => 'gap_ticks' in facts)?.facts;
  return {
    status: !best ? 'cannot tell' : holding.length ? HELD_BY[holding[0].code] : 'known',
    trusted_ticks: best ? best[0] : null,
    basis: best ? best[1] : null,
    read_ticks: read ? read[0] : null,
    read_basis: read ? read[1] : null,
    spring_back: sample.spring_back?.how ?? null,
    n: sample.cavities.length,
    m,
    population: sample.population,
    terms: { ...termsOf(sample), ...limit, ...gap },
    reasons: [...holding, ...(best ? [] : whyUnknown(sample, m))],
    could_be_shorter: converse(sample, m),
  };
}

/** The greatest of what is proved. @param {Bound[]} bounds @returns {Bound | undefined} */
function greatest(bounds) {
  return [...bounds].sort((a, b) => b[0] - a[0] || BASES.indexOf(b[1]) - BASES.indexOf(a[1]))[0];
}

/**
 * How many further cavities to read until a bar fits, if they read like those so far: the fewest; all that are left
 * where no sample is enough; null where reading does not help.
 * @param {Sample} sample the group's cavities @param {number} neededTicks cavity that the bar needs, all margins in it
 * @param {Reference['prediction']} factors prediction.json @returns {number | null}
 */
export function measureMore(sample, neededTicks, factors) {
  const m = notRead(sample);
  if (!m) return null;
  if (!sample.cavities.length) return Math.min(FIRST_READINGS, m);
  if (shortestTrusted(sample) < neededTicks) return null;
  for (let more = 1; more < Math.min(m, MOST_MORE + 1); more += 1) {
    const limit = limitFor(sample, m - more, more, factors);
    if (limit && limit.limit_ticks >= neededTicks) return more;
  }
  return m;
}

/**
 * How many cavities without a reading a go gauge has to pass until a bar fits; null where a gauge does not help.
 * @param {Sample} sample the group's cavities @param {number} neededTicks cavity that the bar needs; what the gauge proves is no less
 * @param {Reference['prediction']} factors prediction.json @returns {number | null}
 */
export function byGauge(sample, neededTicks, factors) {
  const m = notRead(sample);
  const isShort = sample.cavities.length > 0 && shortestTrusted(sample) < neededTicks;
  if (!m || sample.stopped_ticks.length || isShort) return null;
  const gauged = sample.gauged_ticks.filter((each) => each >= neededTicks).length;
  for (let more = 1; more < Math.min(m - gauged, MOST_MORE + 1); more += 1) {
    const limit = limitFor(sample, m - gauged - more, 0, factors);
    if (limit && limit.limit_ticks >= neededTicks) return more;
  }
  return Math.max(m - gauged, 0);
}

/**
 * What reading so many more cavities buys, if they read like those so far: see the twin.
 * @param {Sample} sample the group's cavities, its population known @param {number} more @param {Reference['prediction']} factors prediction.json
 */
export function boughtBy(sample, more, factors) {
  const [m, inside] = [notRead(sample) ?? 0, readInside(sample)];
  const left = Math.max(m - more, 0);
  const limit = limitFor(sample, left, more, factors);
  const proved = limit ? [limit.limit_ticks] : [];
  if (sample.cavities.length && (limit || left === 0)) proved.push(shortestTrusted(sample));
  return {
    trusted_ticks: proved.length ? Math.min(...proved) : null,
    m: left,
    could_be_shorter: couldBeShorter(inside + m, inside + m - left),
  };
}

/** Cavities of the population that were not read; null where nobody counted. @param {Sample} sample */
export function notRead(sample) {
  return sample.population === null ? null : Math.max(sample.population - readInside(sample), 0);
}

/** Everything that is proved of all cavities, with what it rests on. @param {Sample} sample @param {number} m @param {Reference['prediction']} factors */
function boundsOf(sample, m, factors) {
  const gauged = sample.gauged_ticks.length ? Math.min(...sample.gauged_ticks) : null;
  /** @type {Bound[]} */
  const found = [];
  if (!sample.stopped_ticks.length) {
    found.push(...read(sample, m, null, factors));
    if (gauged !== null)
      found.push(...read(sample, Math.max(m - sample.gauged_ticks.length, 0), gauged, factors));
  }
  if (sample.lamp_ticks !== null && (sample.cavities.length || gauged !== null))
    found.push([sample.lamp_ticks, 'lamp']);
  const tops = sample.stopped_ticks.map((each) => each - 1);
  if (sample.cavities.length) tops.push(shortestTrusted(sample));
  return found.map(([ticks, basis]) => /** @type {Bound} */ ([Math.min(ticks, ...tops), basis]));
}

/**
 * What the readings prove, the cavities that a gauge passed counted as read or not.
 * @param {Sample} sample @param {number} m @param {number | null} gauged @param {Reference['prediction']} factors @returns {Bound[]}
 */
function read(sample, m, gauged, factors) {
  const proved = gauged === null ? [] : [gauged];
  if (m === 0 && (sample.cavities.length || proved.length)) {
    const shortest = sample.cavities.length ? [shortestTrusted(sample)] : [];
    return [[Math.min(...shortest, ...proved), 'all']];
  }
  const limit = limitFor(sample, m, 0, factors);
  return limit ? [[Math.min(limit.limit_ticks, ...proved), 'sample']] : [];
}

/**
 * Lower prediction limit for m cavities after `more` further readings like those so far; null where there is none.
 * @param {Sample} sample @param {number | null} m @param {number} more @param {Reference['prediction']} factors
 */
function limitFor(sample, m, more, factors) {
  if (!m || !sample.cavities.length) return null;
  const lengths = lengthsOf(sample);
  const spread = pooled([spreadOf(lengths), sample.elsewhere]);
  const firm = believedFirm(sample, more, factors);
  const degrees = spread.degrees + more + (firm?.degrees ?? 0);
  const factor = degrees ? factorThousandths(lengths.length + more, m, degrees, factors) : null;
  if (factor === null) return null;
  const own = spreadMilliticksOf(sample, spread);
  const spreadMilliticks = firm ? Math.max(own, spreadMilliticksOf(sample, pooled([spread, firm]))) : own;
  const below = ceilDiv(BigInt(factor) * BigInt(spreadMilliticks), 1_000_000);
  const systematic = Math.max(...sample.cavities.map((each) => each.systematic_ticks));
  const mean = meanDown(lengths);
  return {
    mean_ticks: mean,
    spread_ticks: ceilDiv(spreadMilliticks, 1000),
    degrees,
    factor_thousandths: factor,
    below_ticks: below,
    systematic_ticks: systematic,
    limit_ticks: Math.min(mean - below, ...lengths) - systematic,
  };
}

/**
 * What the firm's closed sites say of the spread, where it counts: once the site itself has read enough of the kind, and
 * unless it reads so wide that it is none of the firm's usual sites. It never makes the spread smaller than what was read.
 * @param {Sample} sample @param {number} more further readings that are thought of @param {Reference['prediction']} factors
 * @returns {import('../judging/firm_numbers.js').FirmSpread | null}
 */
export function believedFirm(sample, more, factors) {
  const own = pooled([spreadOf(lengthsOf(sample)), sample.elsewhere]);
  if (!sample.firm || own.degrees + more < OWN_DEGREES) return null;
  const odd = own.degrees > 0 && isOdd(own.squares_ticks2, own.degrees, sample.firm, factors);
  return odd ? null : sample.firm;
}

/**
 * Standard deviation between cavities, no smaller than the tape can tell and than the site assumes.
 * @param {Sample} sample @param {Spread} spread
 */
function spreadMilliticksOf(sample, spread) {
  const graduation = Math.max(...sample.cavities.map((each) => each.graduation_ticks));
  const tape = ceilSqrt(ceilDiv(graduation ** 2 * 1_000_000, 12));
  const seen = spread.degrees
    ? ceilSqrt(ceilDiv(BigInt(spread.squares_ticks2) * 1_000_000n, spread.degrees))
    : 0;
  return Math.max(seen, tape, sample.spread_floor_ticks * 1000);
}

/** @param {Sample} sample */
const shortestTrusted = (sample) =>
  Math.min(...sample.cavities.map((each) => each.length_ticks - each.expanded_ticks));

/**
 * What holds back a verdict on cavities that nobody read: two clusters, whatever 'alike' says, or two makes that
 * somebody saw.
 * @param {Sample} sample @param {number | null} m @returns {Reason[]}
 */
function twoMakes(sample, m) {
  if (m === 0) return [];
  const gap = gapBetweenClusters(lengthsOf(sample));
  if (gap !== null) return [{ code: 'cavity.two-clusters', facts: { gap_ticks: gap } }];
  return sample.alike === 'two-makes-seen' ? [{ code: 'cavity.two-makes-seen', facts: {} }] : [];
}

/** What holds back a verdict on any cavity: readings that wait for a confirmation. @param {Sample} sample @returns {Reason[]} */
const askedOf = ({ asked: n }) => (n ? [{ code: 'cavity.reading-asked', facts: { n } }] : []);

/**
 * Why nothing is proved of all cavities; nothing more where all that was read waits for a confirmation.
 * @param {Sample} sample @param {number | null} m @returns {Reason[]}
 */
function whyUnknown(sample, m) {
  const nothing = !sample.cavities.length && !sample.gauged_ticks.length && !sample.stopped_ticks.length;
  return nothing && sample.asked ? [] : [unknown(sample, m)];
}

/** @param {Sample} sample @param {number | null} m @returns {Reason} */
function unknown(sample, m) {
  const n = sample.cavities.length;
  if (!n && !sample.gauged_ticks.length && !sample.stopped_ticks.length)
    return { code: 'cavity.no-reading', facts: {} };
  if (m === null) return { code: 'cavity.not-counted', facts: { n } };
  if (sample.stopped_ticks.length) {
    return { code: 'cavity.gauge-does-not-go', facts: { length_ticks: Math.min(...sample.stopped_ticks) } };
  }
  const code = n === 0 ? 'cavity.only-gauged' : n === 1 ? 'cavity.one-reading' : 'cavity.too-many';
  return { code, facts: { m } };
}

/** Numbers shown beside the trusted cavity. @param {Sample} sample */
function termsOf(sample) {
  /** @type {Record<string, number>} */
  const terms = sample.lamp_ticks === null ? {} : { lamp_ticks: sample.lamp_ticks };
  if (sample.spring_back) terms.spring_back_ticks = sample.spring_back.ticks;
  if (sample.cavities.length) {
    terms.shortest_ticks = Math.min(...lengthsOf(sample));
    terms.shortest_trusted_ticks = shortestTrusted(sample);
  }
  return terms;
}

/**
 * Of those not read, how many could be shorter than the shortest; null where nothing was read or is left.
 * @param {Sample} sample @param {number | null} m
 */
function converse(sample, m) {
  const inside = readInside(sample);
  return m && inside ? couldBeShorter(inside + m, inside) : null;
}
