// What stands against converting a body at all, whichever bar would go in. Twin: server/spanwalk/rules/fit/not_converted.py.

import * as constants from '../constants.js';
import { facet } from '../survey.js';

/** LED tubes in the sockets: a body with them may be converted, where a manager says so with a reason. */
const LED_TUBES = ['led-tube-on-mains', 'led-tube-on-the-ballast', 'led-tube-on-own-driver'];
/** Lamps that do not lie between two sockets: both ends of a U-bend are at one end of it. @type {readonly string[]} */
const NOT_BETWEEN_SOCKETS = constants.NOT_BETWEEN_SOCKETS;
/** Lamps whose row is too long for this method, whatever was read of it. @type {readonly string[]} */
const TOO_LONG = constants.TOO_LONG;

/** Codes of reasons that nothing on the site can change: no cavity of such a body is worth reading. @type {readonly string[]} */
export const NEVER = constants.NEVER;

/** Whether bodies of a kind are never converted by this method, whatever is read of them: U-bends, circular lamps, 8 ft. @param {ViewRecord<'kind'> | null | undefined} kind */
export const isNever = (kind) => areNever(facet(kind ?? undefined, 'lamps'));

/** The same of the lamps alone. @param {ValueOf<'kind', 'lamps'>} lamps */
export const areNever = ({ cap = 'not-seen', nominal_ft: length = 'not-seen' }) =>
  NOT_BETWEEN_SOCKETS.includes(cap) || TOO_LONG.includes(length);

/**
 * Each reason against a conversion of such a body in such a room; none where nothing was seen that stands against it.
 * @param {ViewRecord<'kind'>} kind @param {ViewRecord<'room'> | undefined} room @returns {Reason[]}
 */
export function notConverted(kind, room) {
  const { fitted = '', cap = '', nominal_ft: length = '' } = facet(kind, 'lamps');
  /** @type {[boolean, string, Record<string, string>][]} */
  const rows = [
    [facet(room, 'surroundings').hazardous === 'yes', 'hazardous', {}],
    [fitted === 'built-in-led', 'built-in-led', {}],
    [NOT_BETWEEN_SOCKETS.includes(cap), 'between-sockets', { cap }],
    [TOO_LONG.includes(length), 'too-long', { length }],
    [fitted === 'none', 'nothing-fitted', {}],
    [facet(kind, 'ballast').leaking === 'yes', 'leaking-ballast', {}],
    [facet(kind, 'wiring').earth === 'missing', 'no-earth', {}],
  ];
  return rows.filter(([stands]) => stands).map(([, code, facts]) => ({ code: `plan.not.${code}`, facts }));
}

/**
 * What holds back a body with LED tubes in its sockets: a manager's decision to convert it all the same, with a reason.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @returns {Reason[]}
 */
export function ledTubesUndecided(group, kind) {
  const fitted = facet(kind, 'lamps').fitted ?? '';
  const decision = facet(group, 'decision');
  const decided = decision.accepts_led_tubes === true && Boolean(decision.reason);
  return decided || !LED_TUBES.includes(fitted)
    ? []
    : [{ code: 'plan.blocked.led-tubes', facts: { fitted } }];
}
