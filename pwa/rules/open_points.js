// What keeps a room, a group or the site from being complete, and who can close it. Twin: server/spanwalk/rules/open_points.py.
// RULES names each rule, who closes what it finds, and on which screen; the rules themselves are one small
// function each in points/. A rule finds one point for one thing, never two.

import { judgeGroups } from './judged.js';
import { lengthsByKind } from './points/found.js';
import * as emergency from './points/emergency.js';
import * as groups from './points/groups.js';
import * as kinds from './points/kinds.js';
import * as readings from './points/readings.js';
import * as records from './points/records.js';
import * as rooms from './points/rooms.js';
import { floorOrder, inOrder, nameOfRoom, Survey, walkOrder } from './survey.js';

/** @typedef {import('./points/found.js').Seen} Seen */
/** @typedef {import('./points/found.js').Found} Found */
/** @typedef {{name: string, who: string[], path: string, find: (seen: Seen) => Found[]}} Rule */
/**
 * @typedef {{rule: string, record: string, room: string | null, floor: string | null, who: string[],
 *   path: string, facts: Record<string, unknown>}} OpenPoint
 */
/**
 * What the records do not hold. `judgements` by group id, where they are at hand already.
 * @typedef {{photos_arrived?: string[] | null, devices?: import('./points/found.js').DeviceWork[],
 *   judgements?: Record<string, Judgement>, figures_not_used?: Seen['figuresNotUsed'], today?: string}} Facts
 */

const [SURVEYOR, MANAGER] = [
  ['surveyor', 'manager', 'owner'],
  ['manager', 'owner'],
];
const [ROOM, GROUP] = ['/s/{site}/room/{record}', '/s/{site}/group/{record}'];
const [READ, FORM] = ['/s/{site}/group/{record}/read', '/s/{site}/record/{record}/'];
const OF_READING = '/s/{site}/group/{parent}';
const [CONFLICTS, UNSENT] = ['/s/{site}/conflicts', '/s/{site}/unsent'];
const FIGURES = '/s/{site}/desk/figures';

/** @param {string} name @param {string[]} who @param {string} path @param {(seen: Seen) => Found[]} find @returns {Rule} */
const rule = (name, who, path, find) => ({ name, who, path, find });

export const RULES = [
  rule('room-not-visited', SURVEYOR, ROOM, rooms.roomNotVisited),
  rule('no-access', SURVEYOR, ROOM, rooms.noAccess),
  rule('room-open', SURVEYOR, ROOM, rooms.roomOpen),
  rule('room-empty', SURVEYOR, ROOM, rooms.roomEmpty),
  rule('duplicate-room-number', SURVEYOR, `${FORM}identity`, rooms.duplicateRoomNumber),
  rule('duplicate-kind-mark', SURVEYOR, `${FORM}identity`, kinds.duplicateKindMark),
  rule('lamps-not-seen', SURVEYOR, `${FORM}lamps`, kinds.lampsNotSeen),
  rule('no-ballast-space', SURVEYOR, `${FORM}ballast_space`, kinds.noBallastSpace),
  rule('feeds-not-seen', SURVEYOR, `${FORM}wiring`, kinds.feedsNotSeen),
  rule('no-count', SURVEYOR, `${FORM}count`, groups.noCount),
  rule('doubtful-count', SURVEYOR, `${FORM}count`, groups.doubtfulCount),
  rule('no-volts', SURVEYOR, `${FORM}supply`, groups.noVolts),
  rule('emergency-not-seen', SURVEYOR, `${FORM}duty`, groups.emergencyNotSeen),
  rule('emergency-positions-not-said', SURVEYOR, `${FORM}duty`, emergency.positionsNotSaid),
  rule('battery-not-seen', SURVEYOR, `${FORM}duty`, emergency.batteryNotSeen),
  rule('second-source-not-named', SURVEYOR, `${FORM}duty`, emergency.secondSourceNotNamed),
  rule('groups-do-not-differ', SURVEYOR, `${FORM}identity`, groups.groupsDoNotDiffer),
  rule('position-above-count', SURVEYOR, `${FORM}count`, groups.positionAboveCount),
  rule('dark-lamps-above-lamps', SURVEYOR, `${FORM}count`, groups.darkLampsAboveLamps),
  rule('longer-than-room', SURVEYOR, GROUP, groups.longerThanRoom),
  rule('no-reading', SURVEYOR, READ, readings.noReading),
  rule('too-few-readings', SURVEYOR, READ, readings.tooFewReadings),
  rule('two-clusters', SURVEYOR, GROUP, readings.twoClusters),
  rule('tight-not-settled', SURVEYOR, READ, readings.tightNotSettled),
  rule('fits-by-lamp', SURVEYOR, READ, readings.fitsByLamp),
  rule('reading-matches-another', SURVEYOR, OF_READING, readings.readingMatchesAnother),
  rule('outlier', SURVEYOR, OF_READING, readings.outlier),
  rule('reading-beyond-rows', SURVEYOR, OF_READING, readings.beyondRows),
  rule('pair-set-aside', SURVEYOR, OF_READING, readings.setAside),
  rule('verdict-differs', SURVEYOR, OF_READING, readings.verdictDiffers),
  rule('conflict', SURVEYOR, CONFLICTS, records.conflict),
  rule('removed-with-children', SURVEYOR, CONFLICTS, records.removedWithChildren),
  rule('code-on-two-fixtures', SURVEYOR, CONFLICTS, records.codeOnTwoFixtures),
  rule('two-codes-on-a-fixture', SURVEYOR, `${FORM}voided`, records.twoCodesOnAFixture),
  rule('photo-not-arrived', ['surveyor', 'crew'], UNSENT, records.photoNotArrived),
  rule('unsent-work', ['surveyor', 'crew'], UNSENT, records.unsentWork),
  rule('figure-not-used', MANAGER, FIGURES, records.figureNotUsed),
  rule('question-open', ['surveyor', 'crew', 'manager', 'owner'], `${FORM}answer`, records.questionOpen),
];
const RANK = new Map(RULES.map((each, place) => [each.name, place]));

/**
 * All open points of a site, in the order of the walk.
 * @param {Iterable<ViewRecord>} siteRecords all records of the site
 * @param {Facts} facts what the records do not hold
 * @param {Reference} tables reference tables, for judging and for the lengths of lamps
 * @param {typeof import('./judging.js').judgeGroup} [judge] instead of `judgeGroup`
 * @returns {OpenPoint[]} `who` can close it, on the screen `path`
 */
export function openPoints(siteRecords, facts, tables, judge) {
  const survey = new Survey(siteRecords);
  const seen = {
    survey,
    photosArrived: facts.photos_arrived ? new Set(facts.photos_arrived) : null,
    devices: facts.devices ?? [],
    judgements: facts.judgements ?? judgeGroups(survey, tables, judge),
    lengths: lengthsByKind(survey),
    figuresNotUsed: facts.figures_not_used ?? [],
    tables,
  };
  const points = RULES.flatMap((each) => each.find(seen).map((found) => pointOf(survey, each, found)));
  return points.sort((a, b) => compare(placeOf(survey, a), placeOf(survey, b)));
}

/** @param {Survey} survey @param {Rule} each @param {Found} found @returns {OpenPoint} */
function pointOf(survey, each, found) {
  const floor = found.room && survey.floorOf(found.room);
  const where = { where: found.room ? nameOfRoom(found.room) : 'the site' };
  return {
    rule: each.name,
    record: found.record,
    room: found.room?.id ?? null,
    floor: floor?.id ?? null,
    who: [...each.who],
    path: each.path
      .replace('{site}', survey.site().id)
      .replace('{record}', found.record)
      .replace('{parent}', survey.get(found.record)?.parent ?? ''),
    facts: { ...where, ...found.facts },
  };
}

/** @param {Survey} survey @param {OpenPoint} point @returns {[number, number, string, number, string]} */
function placeOf(survey, point) {
  /** @type {[ViewRecord<'room'> | undefined, ViewRecord<'floor'> | undefined]} */
  const [room, floor] = [survey.get(point.room), survey.get(point.floor)];
  return [floorOrder(floor), walkOrder(room), point.room ?? '', RANK.get(point.rule) ?? 0, point.record];
}

/** @param {(number | string)[]} a @param {(number | string)[]} b */
function compare(a, b) {
  const at = a.findIndex((each, place) => each !== b[place]);
  if (at < 0) return 0;
  return typeof a[at] === 'number' ? Number(a[at]) - Number(b[at]) : inOrder(String(a[at]), String(b[at]));
}
