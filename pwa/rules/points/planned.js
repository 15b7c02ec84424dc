// Open points of groups whose plan is not ready, for reasons that no other rule tells. Twin: server/spanwalk/rules/points/planned.py.
// Whatever keeps a group from being released is an open point: of what is told by a rule of its own nothing is said here,
// as long as that rule found something; these rules come last, so that they see what the others found.

import { BY_SURVEY, SAID_BY_RULES } from '../constants.js';
import { facet } from '../survey.js';
import { heldBy, ofGroup } from './found.js';

/** @typedef {import('./found.js').Seen} Seen */
/** @typedef {import('./found.js').Found} Found */
/** @typedef {import('./found.js').NotReady} NotReady */
/** @typedef {NotReady['because'][number]} Because */

/** Groups that lack something in their plan that a surveyor can say. @param {Seen} seen @returns {Found[]} */
export const heldBySurvey = (seen) => heldOf(seen, (code) => BY_SURVEY.includes(code));

/** Groups whose plan is not ready, which the manager decides on. @param {Seen} seen @returns {Found[]} */
export const heldByPlan = (seen) => heldOf(seen, (code) => !BY_SURVEY.includes(code));

/** Rooms in which readings of light lie outside the range that was reckoned. @param {Seen} seen @returns {Found[]} */
export const lightDisagrees = (seen) => ofRooms(seen, seen.lightsOff);

/** Rooms in which bars of more than one colour temperature or colour rendering are proposed. @param {Seen} seen @returns {Found[]} */
export const mixedLooks = (seen) => ofRooms(seen, seen.looksMixed);

/** @param {Seen} seen @param {Seen['lightsOff']} told @returns {Found[]} */
function ofRooms(seen, told) {
  const byRoom = new Map(told.map(({ room, facts }) => [room, facts]));
  return seen.survey
    .ofType('room')
    .filter(({ id }) => byRoom.has(id))
    .map((room) => ({ record: room.id, room, facts: byRoom.get(room.id) ?? {} }));
}

/** Each group whose plan is not ready, once, with what is told of it. @param {Seen} seen @param {(code: string) => boolean} isOf */
function heldOf(seen, isOf) {
  const byId = new Map(seen.notReady.map((each) => [each.group, each]));
  const told = toldOf(seen);
  return seen.survey.groupsToConvert().flatMap((group) => {
    const found = byId.get(group.id);
    if (!found || facet(group, 'decision').decision === 'defer') return [];
    const held = [group.id, facet(group, 'identity').kind ?? '', group.parent];
    const because = becauseOf(
      found,
      held.some((id) => told.has(id)),
    );
    return because && isOf(because.code) ? [ofGroup(seen, group, { because })] : [];
  });
}

/** Groups, kinds and rooms of which other rules found something. @param {Seen} seen */
function toldOf(seen) {
  return new Set(
    seen.told.map(({ record, room }) => {
      const held = heldBy(seen.survey, seen.survey.get(record));
      return held ? held.id : room;
    }),
  );
}

/** The reason to tell: first what a surveyor can say; none where other rules tell all of them. @param {NotReady} found @param {boolean} isTold @returns {Because | undefined} */
function becauseOf(found, isTold) {
  let untold = found.because.filter(({ code }) => !SAID_BY_RULES.includes(code));
  if (untold.length === 0 && !isTold) untold = found.because;
  return untold.find(({ code }) => BY_SURVEY.includes(code)) ?? untold[0];
}
