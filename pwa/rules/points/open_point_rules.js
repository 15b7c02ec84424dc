// Made from spec/rules.json by `python -m spanwalk.records.made_rules`: do not edit. Twin: server/spanwalk/rules/points/open_point_rules.py.

import * as emergency from './emergency.js';
import * as groups from './groups.js';
import * as kinds from './kinds.js';
import * as planned from './planned.js';
import * as readings from './readings.js';
import * as records from './records.js';
import * as rooms from './rooms.js';
import * as work from './work.js';

/** @type {import('./found.js').Rule[]} */
export const RULES = [
  {
    name: 'room-not-visited',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/room/{record}',
    find: rooms.roomNotVisited,
  },
  {
    name: 'no-access',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/room/{record}',
    find: rooms.noAccess,
  },
  {
    name: 'room-open',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/room/{record}',
    find: rooms.roomOpen,
  },
  {
    name: 'room-empty',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/room/{record}',
    find: rooms.roomEmpty,
  },
  {
    name: 'duplicate-room-number',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/identity',
    find: rooms.duplicateRoomNumber,
  },
  {
    name: 'duplicate-kind-mark',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/identity',
    find: kinds.duplicateKindMark,
  },
  {
    name: 'lamps-not-seen',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/lamps',
    find: kinds.lampsNotSeen,
  },
  {
    name: 'lamp-watts-not-seen',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/lamps',
    find: kinds.lampWattsNotSeen,
  },
  {
    name: 'no-ballast-space',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/ballast_space',
    find: kinds.noBallastSpace,
  },
  {
    name: 'feeds-not-seen',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/wiring',
    find: kinds.feedsNotSeen,
  },
  {
    name: 'no-count',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/count',
    find: groups.noCount,
  },
  {
    name: 'doubtful-count',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/count',
    find: groups.doubtfulCount,
  },
  {
    name: 'no-volts',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/supply',
    find: groups.noVolts,
  },
  {
    name: 'emergency-not-seen',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/duty',
    find: groups.emergencyNotSeen,
  },
  {
    name: 'emergency-positions-not-said',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/duty',
    find: emergency.positionsNotSaid,
  },
  {
    name: 'battery-not-seen',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/duty',
    find: emergency.batteryNotSeen,
  },
  {
    name: 'second-source-not-named',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/duty',
    find: emergency.secondSourceNotNamed,
  },
  {
    name: 'groups-do-not-differ',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/identity',
    find: groups.groupsDoNotDiffer,
  },
  {
    name: 'position-above-count',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/count',
    find: groups.positionAboveCount,
  },
  {
    name: 'dark-lamps-above-lamps',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/count',
    find: groups.darkLampsAboveLamps,
  },
  {
    name: 'longer-than-room',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{record}',
    find: groups.longerThanRoom,
  },
  {
    name: 'no-reading',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{record}/read',
    find: readings.noReading,
  },
  {
    name: 'too-few-readings',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{record}/read',
    find: readings.tooFewReadings,
  },
  {
    name: 'two-clusters',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{record}',
    find: readings.twoClusters,
  },
  {
    name: 'tight-not-settled',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{record}/read',
    find: readings.tightNotSettled,
  },
  {
    name: 'fits-by-lamp',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{record}/read',
    find: readings.fitsByLamp,
  },
  {
    name: 'reading-matches-another',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{parent}',
    find: readings.readingMatchesAnother,
  },
  {
    name: 'outlier',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{parent}',
    find: readings.outlier,
  },
  {
    name: 'reading-beyond-rows',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{parent}',
    find: readings.beyondRows,
  },
  {
    name: 'pair-set-aside',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{parent}',
    find: readings.setAside,
  },
  {
    name: 'lot-refused',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/desk/walk',
    find: readings.lotRefused,
  },
  {
    name: 'repeats-spread',
    who: ['manager', 'owner'],
    path: '/s/{site}/record/{record}/repeats',
    find: readings.repeatsSpread,
  },
  {
    name: 'verdict-differs',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{parent}',
    find: readings.verdictDiffers,
  },
  {
    name: 'conflict',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/conflicts',
    find: records.conflict,
  },
  {
    name: 'removed-with-children',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/conflicts',
    find: records.removedWithChildren,
  },
  {
    name: 'code-on-two-fixtures',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/conflicts',
    find: records.codeOnTwoFixtures,
  },
  {
    name: 'two-codes-on-a-fixture',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/voided',
    find: records.twoCodesOnAFixture,
  },
  {
    name: 'photo-not-arrived',
    who: ['surveyor', 'crew'],
    path: '/s/{site}/unsent',
    find: records.photoNotArrived,
  },
  {
    name: 'unsent-work',
    who: ['surveyor', 'crew'],
    path: '/s/{site}/unsent',
    find: records.unsentWork,
  },
  {
    name: 'figure-not-used',
    who: ['manager', 'owner'],
    path: '/s/{site}/desk/figures',
    find: records.figureNotUsed,
  },
  {
    name: 'question-open',
    who: ['surveyor', 'crew', 'manager', 'owner'],
    path: '/s/{site}/record/{record}/answer',
    find: records.questionOpen,
  },
  {
    name: 'problem-open',
    who: ['manager', 'owner'],
    path: '/s/{site}/desk/problems',
    find: work.problemOpen,
  },
  {
    name: 'problem-to-do',
    who: ['crew'],
    path: '/s/{site}/today',
    find: work.problemToDo,
  },
  {
    name: 'difference-open',
    who: ['manager', 'owner'],
    path: '/s/{site}/desk/fitted',
    find: work.differenceOpen,
  },
  {
    name: 'sent-back',
    who: ['crew'],
    path: '/s/{site}/today',
    find: work.sentBack,
  },
  {
    name: 'not-in-release',
    who: ['manager', 'owner'],
    path: '/s/{site}/desk/plan',
    find: work.notInRelease,
  },
  {
    name: 'picked-short',
    who: ['manager', 'owner'],
    path: '/s/{site}/desk/days',
    find: work.pickedShort,
  },
  {
    name: 'held-by-survey',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/group/{record}',
    find: planned.heldBySurvey,
  },
  {
    name: 'held-by-plan',
    who: ['manager', 'owner'],
    path: '/s/{site}/desk/plan',
    find: planned.heldByPlan,
  },
  {
    name: 'light-disagrees',
    who: ['surveyor', 'manager', 'owner'],
    path: '/s/{site}/light/{record}',
    find: planned.lightDisagrees,
  },
  {
    name: 'mixed-looks',
    who: ['manager', 'owner'],
    path: '/s/{site}/desk/plan',
    find: planned.mixedLooks,
  },
];
