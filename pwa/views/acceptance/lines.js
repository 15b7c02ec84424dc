// Lines of what is signed, as sentences. Their form stands in server/spanwalk/rules/installing/acceptance.py.

import { nameOfRoom } from '../../rules/survey.js';
import { choiceText, say } from '../words.js';

/** @typedef {import('../../rules/survey.js').Survey} Survey */

/** @type {Record<string, (survey: Survey, fields: string[]) => string>} */
const TEXTS = {
  fixtures: (survey, [group, mark, positions, state, items]) =>
    say(`acceptance.line.${items ? 'fixtures-with' : 'fixtures'}`, {
      room: roomName(survey, group),
      mark,
      positions,
      state: choiceText(state),
      items,
    }),
  light: (survey, [room, point, when, lux]) =>
    say('acceptance.line.light', { room: roomName(survey, room), point, when: choiceText(when), lux }),
  point: (survey, [room, sort, , positions, how]) =>
    say(`acceptance.line.${positions ? 'point-at' : 'point'}`, {
      room: roomName(survey, room),
      sort: say(`acceptance.sort.${sort}`),
      positions,
      how: choiceText(how),
    }),
};

/** @param {Survey} survey @param {string} id */
function roomName(survey, id) {
  const record = survey.get(id);
  return record ? nameOfRoom(survey.roomOf(record)) : id;
}

/** @param {Survey} survey @param {string} line @returns {string} */
export function lineText(survey, line) {
  const [kind, ...fields] = line.split('\t');
  return TEXTS[kind]?.(survey, fields) ?? (fields.slice(1).filter(Boolean).join(' · ') || line);
}
