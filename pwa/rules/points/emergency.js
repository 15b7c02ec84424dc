// Open points of emergency fixtures: which they are, what is in the old battery, what second source feeds them. Twin: server/spanwalk/rules/points/emergency.py.

import * as constants from '../constants.js';
import { facet, isSeen } from '../survey.js';
import { ofGroup } from './found.js';

/** @typedef {import('./found.js').Seen} Seen */
/** @typedef {import('./found.js').Found} Found */

const BATTERY = 'battery-in-fixture';
const { SECOND_SOURCE } = constants;

/** Groups to be converted that have one of these duties. @param {Seen} seen @param {string[]} duties @returns {ViewRecord<'group'>[]} */
const groupsWith = (seen, duties) =>
  seen.survey.groupsToConvert().filter((group) => duties.includes(facet(group, 'duty').emergency ?? ''));

/** @param {ViewRecord<'group'>} group @returns {{duty: string}} */
const dutyOf = (group) => ({ duty: facet(group, 'duty').emergency ?? '' });

/** Emergency groups to be converted of which nobody has said which fixtures are the emergency ones. @param {Seen} seen @returns {Found[]} */
export function positionsNotSaid(seen) {
  const groups = groupsWith(seen, [BATTERY, ...SECOND_SOURCE]).filter(
    (group) => !facet(group, 'duty').emergency_positions?.length,
  );
  return groups.map((group) => ofGroup(seen, group, dutyOf(group)));
}

/** Groups to be converted with batteries in their fixtures of which nobody has seen what is in them. @param {Seen} seen @returns {Found[]} */
export function batteryNotSeen(seen) {
  const groups = groupsWith(seen, [BATTERY]).filter((group) => !isSeen(facet(group, 'duty').battery));
  return groups.map((group) => ofGroup(seen, group));
}

/** Groups to be converted that stay live from a second source which nobody has named. @param {Seen} seen @returns {Found[]} */
export function secondSourceNotNamed(seen) {
  const groups = groupsWith(seen, SECOND_SOURCE).filter((group) => !facet(group, 'duty').second_source);
  return groups.map((group) => ofGroup(seen, group, dutyOf(group)));
}
