// What stands against converting a body at all, whichever bar would go in. Twin: server/spanwalk/rules/not_converted.py.

import { facet } from './survey.js';

const LED_TUBES = ['led-tube-on-mains', 'led-tube-on-the-ballast'];

/**
 * Each reason against a conversion of such a body in such a room; none where nothing was seen that stands against it.
 * @param {ViewRecord<'kind'>} kind @param {ViewRecord<'room'>} room @returns {Reason[]}
 */
export function notConverted(kind, room) {
  const fitted = facet(kind, 'lamps').fitted ?? '';
  /** @type {[boolean, string, Record<string, string>][]} */
  const rows = [
    [facet(room, 'surroundings').hazardous === 'yes', 'hazardous', {}],
    [fitted === 'built-in-led', 'built-in-led', {}],
    [LED_TUBES.includes(fitted), 'led-tubes', { fitted }],
    [fitted === 'none', 'nothing-fitted', {}],
    [facet(kind, 'ballast').leaking === 'yes', 'leaking-ballast', {}],
    [facet(kind, 'wiring').earth === 'missing', 'no-earth', {}],
  ];
  return rows.filter(([stands]) => stands).map(([, code, facts]) => ({ code: `plan.not.${code}`, facts }));
}
