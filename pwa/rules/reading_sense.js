// Does a reading make sense for the lamp that is said to be in it? Asks, never blocks. Twin: server/spanwalk/rules/reading_sense.py.

const TICKS_PER_TENTH_MM = 32;
const SHORTEST_UNDER_TENTHS_MM = 24;
const PLAY_TICKS = 30 * TICKS_PER_TENTH_MM;
const NOMINAL_SLACK_TICKS = 640;
const INCH_TICKS = 8128;
const HUNDRED_MM_TICKS = 32000;
const TICKS_PER_FOOT = 97536;
const MIDDLE_SOCKETS_TICKS = 60 * 320;
const GAUGE_CAPS = ['G5', 'G13'];
const NOT_SEEN = [undefined, 'not seen'];

/** Questions that say what else the reading may be; a long reading with one of these open makes no 'fits'. */
export const MATCHES = [
  'reading.matches-lamp',
  'reading.lamp-or-gap',
  'reading.nominal-length',
  'reading.started-at-1',
  'reading.started-at-100',
  'reading.two-cavities',
];

/** @typedef {{code: string, facts: Record<string, any>}} Question */

/**
 * What to ask about a reading; nothing about a good one. See the twin for the bands and their source.
 * @param {number} lengthTicks cavity length [1/320 mm] @param {any} lamps `lamps` facet of the kind
 * @param {number} uncertaintyTicks one-sided 95 % uncertainty [1/320 mm] @param {any} tables reference tables
 * @returns {Question[]} likeliest first
 */
export function questions(lengthTicks, lamps, uncertaintyTicks, tables) {
  const row = lampRow(lamps, tables);
  if (!row || inBand(lengthTicks, row, uncertaintyTicks)) return [];
  const asked = [
    ...otherLamps(lengthTicks, row, uncertaintyTicks, tables),
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

/** The lamp's row of sizes; null for lamps whose length does not give the sockets' spacing, or not seen. @param {any} lamps @param {any} tables */
export function lampRow(lamps, tables) {
  const cap = lamps.cap;
  if (!NOT_SEEN.includes(cap) && !GAUGE_CAPS.includes(cap)) return null;
  const row = tables.lamps.sizes.find(
    (/** @type {any} */ each) => each.diameter === lamps.diameter && each.nominal_ft === lamps.nominal_ft,
  );
  return row && (NOT_SEEN.includes(cap) || cap === row.cap) ? row : null;
}

/** Longest cap-face to cap-face length of the lamp [1/320 mm]. @param {any} row @returns {number} */
export const aMaxTicks = (row) => row.a_max_tenths_mm * TICKS_PER_TENTH_MM;
/** Shortest cap-face to cap-face length of the lamp [1/320 mm]. @param {any} row @returns {number} */
export const aMinTicks = (row) => (row.a_max_tenths_mm - SHORTEST_UNDER_TENTHS_MM) * TICKS_PER_TENTH_MM;

/** @param {number} length @param {any} row @param {number} uncertainty */
function inBand(length, row, uncertainty) {
  return aMinTicks(row) - uncertainty <= length && length <= aMaxTicks(row) + PLAY_TICKS + uncertainty;
}

/** @param {any} row */
const named = (row) => ({ diameter: row.diameter, nominal_ft: row.nominal_ft, lamp_ticks: aMaxTicks(row) });

/** @param {number} length @param {any} own @param {number} uncertainty @param {any} tables @returns {Question[]} */
function otherLamps(length, own, uncertainty, tables) {
  const seen = new Set([aMaxTicks(own)]);
  const found = [];
  for (const row of tables.lamps.sizes) {
    if (seen.has(aMaxTicks(row)) || !inBand(length, row, uncertainty)) continue;
    seen.add(aMaxTicks(row));
    const facts = {
      ...named(row),
      length_ticks: length,
      own_diameter: own.diameter,
      own_nominal_ft: own.nominal_ft,
    };
    found.push({ code: 'reading.matches-lamp', facts });
  }
  return found;
}

/** @param {number} length @param {any} row @param {number} uncertainty @returns {Question[]} */
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

/** The length on the box [1/320 mm]. @param {string} nominalFt `4 ft` */
export function nominalTicks(nominalFt) {
  const [whole, half] = nominalFt.replace(' ft', '').split('.');
  return Number(whole) * TICKS_PER_FOOT + (half ? TICKS_PER_FOOT / 2 : 0);
}

/** @param {number} length @param {any} row @param {number} uncertainty @returns {Question[]} */
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

/** @param {number} length @param {any} row @param {number} uncertainty @returns {Question[]} */
function twoCavities(length, row, uncertainty) {
  const least = 2 * aMinTicks(row) - uncertainty;
  const most = 2 * (aMaxTicks(row) + PLAY_TICKS) + MIDDLE_SOCKETS_TICKS + uncertainty;
  return least <= length && length <= most
    ? [{ code: 'reading.two-cavities', facts: { ...named(row), length_ticks: length } }]
    : [];
}
