// Does a reading make sense for the lamp that is said to be in it? Asks, never blocks. Twin: server/spanwalk/rules/measuring/reading_sense.py.

import * as constants from '../constants.js';

const TICKS_PER_TENTH_MM = constants.TICKS_PER_TENTH_MM;
const SHORTEST_UNDER_TENTHS_MM = constants.SHORTEST_UNDER_TENTHS_MM;
const PLAY_TICKS = 30 * TICKS_PER_TENTH_MM;
const NOMINAL_SLACK_TICKS = constants.NOMINAL_SLACK_TICKS;
const INCH_TICKS = constants.INCH_TICKS;
const HUNDRED_MM_TICKS = constants.HUNDRED_MM_TICKS;
const TICKS_PER_FOOT = constants.TICKS_PER_FOOT;
const MIDDLE_SOCKETS_TICKS = constants.MIDDLE_SOCKETS_TICKS;
const GAUGE_CAPS = constants.GAUGE_CAPS;
const NOT_SEEN = [undefined, 'not-seen'];
const PER_CENT = constants.PER_CENT;

/** Questions that do not say what else the reading may be; all others do: another lamp, an inch too many. */
export const OUT_OF_BAND = constants.OUT_OF_BAND;

/** @typedef {{code: string, facts: Facts}} Question */
/** @typedef {Value} Lamps `lamps` facet of a kind, as far as it is read here */
/**
 * What a reading may be at all where the lamp's length does not give the gap: nominal length ± a share of it.
 * @typedef {{low_ticks: number, high_ticks: number, share_pct: number, lamp: string, nominal_ft: string}} LooseBand
 */

/**
 * What to ask about a reading; nothing about a good one. See the twin for the bands and their source.
 * @param {number} lengthTicks cavity length [1/320 mm] @param {Lamps} lamps `lamps` facet of the kind
 * @param {number} uncertaintyTicks one-sided 95 % uncertainty [1/320 mm] @param {Reference} tables reference tables
 * @returns {Question[]} likeliest first
 */
export function questions(lengthTicks, lamps, uncertaintyTicks, tables) {
  const row = lampRow(lamps, tables);
  if (!row) return askedLoosely(lengthTicks, looseBand(lamps, tables), uncertaintyTicks, tables);
  if (inBand(lengthTicks, row, uncertaintyTicks)) return [];
  const own = { diameter: row.diameter, nominalFt: row.nominal_ft, longest: [aMaxTicks(row)] };
  const asked = [
    ...otherLamps(lengthTicks, own, uncertaintyTicks, tables),
    ...ownLengths(lengthTicks, row, uncertaintyTicks),
    ...tapeStartedLate(lengthTicks, row, uncertaintyTicks),
    ...twoCavities(lengthTicks, row, uncertaintyTicks),
  ];
  if (asked.length) return asked;
  const facts = {
    ...named(row),
    length_ticks: lengthTicks,
    low_ticks: aMinTicks(row),
    high_ticks: aMaxTicks(row) + PLAY_TICKS,
  };
  return [{ code: 'reading.out-of-band', facts }];
}

/** The lamp's row of sizes; null for lamps whose length does not give the sockets' spacing, or not seen. @param {Lamps} lamps @param {Reference} tables */
export function lampRow(lamps, tables) {
  const cap = lamps.cap;
  if (!NOT_SEEN.includes(cap) && !GAUGE_CAPS.includes(cap)) return null;
  const row = tables.lamps.sizes.find(
    (each) => each.diameter === lamps.diameter && each.nominal_ft === lamps.nominal_ft,
  );
  return row && (NOT_SEEN.includes(cap) || cap === row.cap) ? row : null;
}

/**
 * The band of a lamp whose length does not give the gap between sockets; null where it does, or its length was not seen.
 * @param {Lamps} lamps `lamps` facet of the kind @param {Reference} tables @returns {LooseBand | null}
 */
export function looseBand(lamps, tables) {
  const { nominal_ft: nominalFt, cap, diameter } = lamps;
  if (NOT_SEEN.includes(nominalFt) || lampRow(lamps, tables)) return null;
  const nominal = nominalTicks(nominalFt);
  const share = tables.lamps.loose_bands[0].share_pct;
  const off = Math.floor((nominal * share) / PER_CENT);
  return {
    low_ticks: nominal - off,
    high_ticks: nominal + off,
    share_pct: share,
    lamp: [diameter, cap].filter((each) => !NOT_SEEN.includes(each)).join(' ') || 'lamp',
    nominal_ft: nominalFt,
  };
}

/**
 * Whether a reading that is asked about makes no 'fits' until it is confirmed: longer than any such lamp, or off its
 * loose band.
 * @param {number} lengthTicks @param {Lamps} lamps @param {Reference} tables
 */
export function isLong(lengthTicks, lamps, tables) {
  const row = lampRow(lamps, tables);
  return !row || lengthTicks > aMaxTicks(row);
}

/** Longest cap-face to cap-face length of the lamp [1/320 mm]. @param {LampSize} row @returns {number} */
export const aMaxTicks = (row) => row.a_max_tenths_mm * TICKS_PER_TENTH_MM;
/** Shortest cap-face to cap-face length of the lamp [1/320 mm]. @param {LampSize} row @returns {number} */
export const aMinTicks = (row) => (row.a_max_tenths_mm - SHORTEST_UNDER_TENTHS_MM) * TICKS_PER_TENTH_MM;

/** @param {number} length @param {LampSize} row @param {number} uncertainty */
function inBand(length, row, uncertainty) {
  return aMinTicks(row) - uncertainty <= length && length <= aMaxTicks(row) + PLAY_TICKS + uncertainty;
}

/** @param {LampSize} row */
const named = (row) => ({ diameter: row.diameter, nominal_ft: row.nominal_ft, lamp_ticks: aMaxTicks(row) });

/**
 * What to ask where only the length on the box is known.
 * @param {number} length @param {LooseBand | null} band @param {number} uncertainty @param {Reference} tables @returns {Question[]}
 */
function askedLoosely(length, band, uncertainty, tables) {
  if (!band || (band.low_ticks - uncertainty <= length && length <= band.high_ticks + uncertainty)) return [];
  const { lamp, nominal_ft: nominalFt } = band;
  const others = otherLamps(length, { diameter: lamp, nominalFt, longest: [] }, uncertainty, tables);
  if (others.length) return others;
  return [{ code: 'reading.out-of-loose-band', facts: { ...band, length_ticks: length } }];
}

/**
 * @param {number} length @param {{diameter: string, nominalFt: string, longest: number[]}} own @param {number} uncertainty
 * @param {Reference} tables @returns {Question[]}
 */
function otherLamps(length, own, uncertainty, tables) {
  const seen = new Set(own.longest);
  const found = [];
  for (const row of tables.lamps.sizes) {
    if (seen.has(aMaxTicks(row)) || !inBand(length, row, uncertainty)) continue;
    seen.add(aMaxTicks(row));
    const facts = {
      ...named(row),
      length_ticks: length,
      own_diameter: own.diameter,
      own_nominal_ft: own.nominalFt,
    };
    found.push({ code: 'reading.matches-lamp', facts });
  }
  return found;
}

/** @param {number} length @param {LampSize} row @param {number} uncertainty @returns {Question[]} */
function ownLengths(length, row, uncertainty) {
  const found = [];
  const low = row.b_min_tenths_mm * TICKS_PER_TENTH_MM - uncertainty;
  const high = row.c_max_tenths_mm * TICKS_PER_TENTH_MM + uncertainty;
  if (low <= length && length <= high)
    found.push({ code: 'reading.lamp-or-gap', facts: { ...named(row), length_ticks: length } });
  const nominal = nominalTicks(row.nominal_ft);
  if (Math.abs(length - nominal) <= NOMINAL_SLACK_TICKS + uncertainty) {
    found.push({
      code: 'reading.nominal-length',
      facts: { ...named(row), length_ticks: length, nominal_ticks: nominal },
    });
  }
  return found;
}

/** The length on the box [1/320 mm]. @param {string} nominalFt `4-ft` */
export function nominalTicks(nominalFt) {
  const [whole, half] = nominalFt.replace('-ft', '').split('.');
  return Number(whole) * TICKS_PER_FOOT + (half ? TICKS_PER_FOOT / 2 : 0);
}

/** @param {number} length @param {LampSize} row @param {number} uncertainty @returns {Question[]} */
function tapeStartedLate(length, row, uncertainty) {
  /** @type {[string, number][]} */
  const starts = [
    ['reading.started-at-1', INCH_TICKS],
    ['reading.started-at-100', HUNDRED_MM_TICKS],
  ];
  return starts
    .filter(([, late]) => inBand(length - late, row, uncertainty))
    .map(([code, late]) => ({
      code,
      facts: { ...named(row), length_ticks: length, without_ticks: length - late },
    }));
}

/** @param {number} length @param {LampSize} row @param {number} uncertainty @returns {Question[]} */
function twoCavities(length, row, uncertainty) {
  const least = 2 * aMinTicks(row) - uncertainty;
  const most = 2 * (aMaxTicks(row) + PLAY_TICKS) + MIDDLE_SOCKETS_TICKS + uncertainty;
  return least <= length && length <= most
    ? [{ code: 'reading.two-cavities', facts: { ...named(row), length_ticks: length } }]
    : [];
}
