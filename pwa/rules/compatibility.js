// What besides its length stands against a row of bars here: moisture, width, height? Twin: server/spanwalk/rules/compatibility.py.

import * as constants from './constants.js';
import { barOf } from './bar_rows.js';
import { facet } from './survey.js';

/** What surroundings are, from the mildest on. */
const MOISTURE = constants.MOISTURE;
const SIDES = /** @type {const} */ ([
  ['width_ticks', 'suits.width'],
  ['height_ticks', 'suits.height'],
]);

/**
 * Why a row of bars does not suit a body or its room, whatever its length; only what the survey has is looked at.
 * @param {ViewRecord<'catalogue_item'>[]} row its bars @param {ViewRecord<'kind'>} kind
 * @param {ViewRecord<'room'>} room @returns {import('./cavity.js').Reason[]}
 */
export function unsuited(row, kind, room) {
  const bars = row.map(barOf);
  /** @type {import('./cavity.js').Reason[]} */
  const found = [];
  const here = facet(room, 'surroundings').moisture ?? '';
  const classes = bars.flatMap(({ moisture }) =>
    moisture === undefined ? [] : [MOISTURE.indexOf(moisture)],
  );
  const least = Math.min(...classes);
  if (MOISTURE.includes(here) && least < MOISTURE.indexOf(here)) {
    found.push({ code: 'suits.moisture', facts: { made_for: MOISTURE[least], room_is: here } });
  }
  for (const [side, code] of SIDES) {
    const has = facet(kind, 'housing')[side];
    const needs = Math.max(0, ...bars.map((bar) => bar[side] ?? 0));
    if (has !== undefined && needs > has) found.push({ code, facts: { needs_ticks: needs, has_ticks: has } });
  }
  return found;
}
