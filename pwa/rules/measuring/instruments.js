// How far may a reading be wrong? Twin: server/spanwalk/rules/measuring/instruments.py.

import * as constants from '../constants.js';

const TICKS_PER_TENTH_MM = constants.TICKS_PER_TENTH_MM;
const TICKS_PER_64TH_INCH = constants.TICKS_PER_64TH_INCH;
const TICKS_PER_METRE = constants.TICKS_PER_METRE;
const TICKS_PER_FOOT = constants.TICKS_PER_FOOT;
const ONE_SIDED_95_THOUSANDTHS = constants.ONE_SIDED_95_THOUSANDTHS;
const DEFAULT_GRADUATION = constants.DEFAULT_GRADUATION;

/** @typedef {{instrument?: string, length_ticks?: number, graduation?: string, from_hook?: boolean}} ReadingIdentity */
/** @typedef {{limit_ticks: number, graduation_ticks: number, systematic_ticks: number, random_ticks: number, expanded_ticks: number}} Uncertainty */

/**
 * One-sided 95 % uncertainty of one reading [1/320 mm]; see the twin for the method and its sources.
 * @param {ReadingIdentity} reading `identity` facet of a cavity reading @param {Reference} tables reference tables
 * @returns {Uncertainty}
 */
export function readingUncertainty(reading, tables) {
  const instruments = tables.instruments;
  const limit = limitTicks(reading, instruments);
  if (String(reading.instrument ?? '').startsWith('gauge')) {
    return {
      limit_ticks: limit,
      graduation_ticks: 0,
      systematic_ticks: limit,
      random_ticks: 0,
      expanded_ticks: limit,
    };
  }
  const division = graduation(reading, instruments);
  const setting = instruments.repeatability[0].repeatability_tenths_mm * TICKS_PER_TENTH_MM;
  const systematic = 4 * limit * limit;
  const endsRead = reading.from_hook ? 1 : 2;
  const random = endsRead * division * division + 12 * setting * setting;
  return {
    limit_ticks: limit,
    graduation_ticks: division,
    systematic_ticks: expanded(systematic),
    random_ticks: expanded(random),
    expanded_ticks: expanded(systematic + random),
  };
}

/** The one-sided 95 % part that one standard deviation comes to [1/320 mm], rounded up. @param {number} deviationTicks */
export const oneSided95 = (deviationTicks) => Math.ceil((deviationTicks * ONE_SIDED_95_THOUSANDTHS) / 1000);

/** Permissible error of the instrument at this length [1/320 mm]. @param {ReadingIdentity} reading @param {Reference['instruments']} instruments @returns {number} */
export function limitTicks(reading, instruments) {
  const length = /** @type {number} */ (reading.length_ticks);
  const tape = (instruments.tapes ?? []).find((row) => row.instrument === reading.instrument);
  if (tape) {
    const metres = Math.ceil(length / TICKS_PER_METRE);
    const hook = (reading.from_hook ?? true) ? tape.c_tenths_mm : 0;
    return (tape.a_tenths_mm + tape.b_tenths_mm * metres + hook) * TICKS_PER_TENTH_MM;
  }
  if (reading.instrument === 'us-tape') {
    const reaching = instruments.us_tapes.find((row) => length <= row.up_to_ft * TICKS_PER_FOOT);
    return (
      /** @type {{limit_64ths_in: number}} */ (reaching ?? instruments.us_tapes.at(-1)).limit_64ths_in *
      TICKS_PER_64TH_INCH
    );
  }
  return instruments.gauges[0].limit_tenths_mm * TICKS_PER_TENTH_MM;
}

/** @param {ReadingIdentity} reading @param {Reference['instruments']} instruments @returns {number} */
function graduation(reading, instruments) {
  const wanted = reading.graduation || DEFAULT_GRADUATION;
  const row = instruments.graduations.find((each) => each.graduation === wanted);
  return /** @type {{graduation_ticks: number}} */ (row).graduation_ticks;
}

/** 1.645 · √(v / 12), rounded up, in whole numbers. @param {number} twelvefoldVariance */
function expanded(twelvefoldVariance) {
  const square = BigInt(ONE_SIDED_95_THOUSANDTHS) ** 2n * BigInt(twelvefoldVariance);
  let root = BigInt(Math.floor(Math.sqrt(Number(square) / 12e6)));
  while (12000000n * root * root < square) root += 1n;
  while (root > 0n && 12000000n * (root - 1n) * (root - 1n) >= square) root -= 1n;
  return Number(root);
}
