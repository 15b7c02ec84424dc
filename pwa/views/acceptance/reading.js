// What the screens of the acceptance read: the punch list by room, and who signed for what.

import { acceptances, since, statement } from '../../rules/installing/acceptance.js';
import { handedOver, isOpen, punchList, roomsInOrder } from '../../rules/installing/punch_list.js';
import { facet, Survey } from '../../rules/survey.js';

/** @typedef {import('../../rules/installing/punch_list.js').Point} Point */
/** @typedef {import('../../rules/installing/acceptance.js').Statement} Statement */
/** @typedef {{record: RecordView<'acceptance'>, was: string[], now: string[]}} Signed `was`, `now`: lines that are gone and that have come since */
/** A room with its points; `signed`: the newest signature for it alone. @typedef {{room: RecordView<'room'>, points: Point[], open: number, signed: Signed | undefined}} RoomRead */
/** @typedef {{survey: Survey, rooms: RoomRead[], floors: RecordView<'floor'>[]}} Read */
/** @typedef {{survey: Survey, subject: RecordView<'room'> | RecordView<'floor'> | RecordView<'site'>, rooms: RoomRead[], shown: Statement, signed: Signed[]}} WalkRead */

/** @param {Site} site @returns {Promise<Read>} */
export async function readAcceptance(site) {
  const survey = new Survey(await site.everything());
  const rooms = roomsOf(survey);
  const floors = /** @type {RecordView<'floor'>[]} */ (survey.ofType('floor')).filter(({ id }) =>
    rooms.some(({ room }) => room.parent === id),
  );
  const first = (/** @type {RecordView<'floor'>} */ floor) =>
    rooms.findIndex(({ room }) => room.parent === floor.id);
  return { survey, rooms, floors: floors.sort((a, b) => first(a) - first(b)) };
}

/** @param {Site} site @param {string} id of the site, a floor or a room @returns {Promise<WalkRead | null>} */
export async function readWalk(site, id) {
  const survey = new Survey(await site.everything());
  const subject = /** @type {WalkRead['subject'] | undefined} */ (survey.get(id));
  if (!subject || subject.removed) return null;
  const isIn = (/** @type {RoomRead} */ { room }) =>
    subject.type === 'site' || room.id === id || room.parent === id;
  const shown = statement(survey, id);
  return {
    survey,
    subject,
    shown,
    rooms: roomsOf(survey).filter(isIn),
    signed: signedFor(survey, id, shown),
  };
}

/** Rooms that are part of what is handed over. @param {Survey} survey @returns {RoomRead[]} */
function roomsOf(survey) {
  const points = punchList(survey);
  return /** @type {RecordView<'room'>[]} */ (roomsInOrder(survey))
    .map((room) => {
      const here = points.filter((point) => point.room === room.id);
      const told = { room, points: here, open: here.filter(isOpen).length };
      return { ...told, signed: newestSigned(survey, room.id, points) };
    })
    .filter(({ room, points: here }) => here.length > 0 || handedOver(survey, room).length > 0);
}

/** @param {Survey} survey @param {string} subject @returns {RecordView<'acceptance'>[]} */
const recordsFor = (survey, subject) =>
  /** @type {RecordView<'acceptance'>[]} */ (acceptances(survey)).filter(
    (each) => facet(each, 'identity').subject === subject,
  );

/** @param {Survey} survey @param {string} subject @param {Statement} now @returns {Signed[]} the newest first */
export const signedFor = (survey, subject, now) =>
  recordsFor(survey, subject)
    .map((record) => ({ record, ...since(record, now) }))
    .reverse();

/** @param {Survey} survey @param {string} subject @param {Point[]} [listed] the punch list, where it is at hand @returns {Signed | undefined} */
export function newestSigned(survey, subject, listed) {
  const record = recordsFor(survey, subject).at(-1);
  return record && { record, ...since(record, statement(survey, subject, listed)) };
}
