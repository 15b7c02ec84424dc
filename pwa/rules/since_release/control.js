// What dims the group, judged against the released drivers. Twin: server/spanwalk/rules/since_release/control.py.

import * as constants from '../constants.js';
import { before, change, itemOf, itemsOf, LOOK, now, STOP, saidBy } from './seen.js';

/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./seen.js').Change} Change */

/** Controls before a group that dim it, or may: by which signal, another field says. @type {readonly string[]} */
const DIMS = constants.DIMS;
/** Those of them that are nothing but dimmers: a signal of none contradicts them. @type {readonly string[]} */
const SURELY_DIMS = constants.SURELY_DIMS;

/**
 * A dimmer that the released driver does not take, or of which nobody says by what it dims. Where the body has no driver of
 * its own, nobody has judged the neighbour's by it: that stops as well.
 * @param {Seen} seen @returns {Change[]}
 */
export function dimmer(seen) {
  const said = saidBy(seen.records.group, 'duty');
  const [from, to] = [before(seen, 'group', 'duty', 'dimming'), now(seen, 'group', 'duty', 'dimming')];
  const [was, is] = [before(seen, 'group', 'duty', 'control_now'), now(seen, 'group', 'duty', 'control_now')];
  const drivers = itemsOf(seen, 'drivers').map((id) => itemOf(seen, id).dimming);
  const found = [];
  const stops = to !== null && to !== 'none' && !isTaken(to, from, drivers);
  if (stops || to !== from) found.push(change('group.duty.dimming', stops ? STOP : LOOK, from, to, said));
  if (is !== was)
    found.push(change('group.duty.control_now', isUnknownDimmer(is, to) ? STOP : LOOK, was, is, said));
  return found;
}

/** Whether each driver takes the signal; without a driver here only one that was there at the release. @param {string} signal @param {string | null} from @param {string[]} drivers */
const isTaken = (signal, from, drivers) =>
  drivers.length ? drivers.every((each) => each === signal) : signal === from;

/** Whether something dims, or may, and no signal is named that was judged. @param {string} control @param {string | null} signal */
const isUnknownDimmer = (control, signal) =>
  signal === 'none' ? SURELY_DIMS.includes(control) : signal === null && DIMS.includes(control);
