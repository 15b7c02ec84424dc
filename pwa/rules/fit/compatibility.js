// What besides its length stands against a row of bars here: moisture, width, height, dark ends, fixing? Twin: server/spanwalk/rules/fit/compatibility.py.

import * as constants from '../constants.js';
import { ceilDiv } from '../integer_math.js';
import { facet } from '../survey.js';
import { barOf, litTicks } from './bar_rows.js';

/** What surroundings are, from the mildest on. */
const MOISTURE = constants.MOISTURE;
/** Least share of a cavity that bars must light [%] (common practice: see the twin). */
const LEAST_LIT_PCT = constants.LEAST_LIT_PCT;
const WITHOUT_MAGNETS = /** @type {const} */ (['screws', 'clips']);
const SIDES = /** @type {const} */ ([
  ['width_ticks', 'suits.width'],
  ['height_ticks', 'suits.height'],
]);

/**
 * Why a row of bars does not suit a body or its room, whatever its length; only what the survey has is looked at.
 * @param {ViewRecord<'catalogue_item'>[]} row its bars @param {ViewRecord<'kind'>} kind
 * @param {ViewRecord<'room'>} room @param {number | null} [cavityTicks] length that the row is to light @returns {import('./cavity.js').Reason[]}
 */
export function unsuited(row, kind, room, cavityTicks = null) {
  const bars = row.map(barOf);
  /** @type {import('./cavity.js').Reason[]} */
  const found = [];
  const [here, least] = [moistureHere(room), mildest(row)];
  if (MOISTURE.includes(here) && least < MOISTURE.indexOf(here)) {
    found.push({ code: 'suits.moisture', facts: { made_for: MOISTURE[least], room_is: here } });
  }
  for (const [side, code] of SIDES) {
    const has = facet(kind, 'housing')[side];
    const needs = Math.max(0, ...bars.map((bar) => bar[side] ?? 0));
    if (has !== undefined && needs > has) found.push({ code, facts: { needs_ticks: needs, has_ticks: has } });
  }
  const [lit, wanted] = [litTicks(row), cavityTicks === null ? 0 : ceilDiv(cavityTicks * LEAST_LIT_PCT, 100)];
  if (lit < wanted) found.push({ code: 'suits.lit', facts: { lit_ticks: lit, wanted_ticks: wanted } });
  if (facet(kind, 'housing').magnet_holds === 'no' && onlyMagnets(row))
    found.push({ code: 'suits.fixing', facts: {} });
  return found;
}

/**
 * What nobody has seen yet and may stand against a row of bars: the room's moisture, whether a magnet holds.
 * @param {ViewRecord<'catalogue_item'>[]} row its bars @param {ViewRecord<'kind'>} kind
 * @param {ViewRecord<'room'>} room @returns {import('./cavity.js').Reason[]}
 */
export function unsure(row, kind, room) {
  /** @type {import('./cavity.js').Reason[]} */
  const found = [];
  const least = mildest(row);
  if (!MOISTURE.includes(moistureHere(room)) && least < MOISTURE.length - 1)
    found.push({ code: 'held.moisture-not-seen', facts: { made_for: MOISTURE[least] } });
  if ((facet(kind, 'housing').magnet_holds ?? 'not-seen') === 'not-seen' && onlyMagnets(row))
    found.push({ code: 'held.magnet-not-tried', facts: {} });
  return found;
}

/** @param {ViewRecord<'room'>} room */
const moistureHere = (room) => facet(room, 'surroundings').moisture ?? '';

/** Place in MOISTURE of the mildest that one of the bars is made for; beyond it where the catalogue says nothing. @param {ViewRecord<'catalogue_item'>[]} row */
const mildest = (row) =>
  Math.min(
    MOISTURE.length,
    ...row.map(barOf).flatMap(({ moisture }) => (moisture === undefined ? [] : [MOISTURE.indexOf(moisture)])),
  );

/** Whether a bar is among them that can be neither screwed nor clipped; the catalogue may say nothing of it. @param {ViewRecord<'catalogue_item'>[]} row */
function onlyMagnets(row) {
  const every = row.map(barOf).flatMap(({ fixing }) => (fixing?.length ? [fixing] : []));
  return every.length > 0 && !WITHOUT_MAGNETS.some((way) => every.every((each) => each.includes(way)));
}
