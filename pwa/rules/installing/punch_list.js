// What is open when a building is handed over, room by room. Twin: server/spanwalk/rules/installing/punch_list.py, which says why.

import { newestOf } from '../since_release/standing.js';
import {
  facet,
  fixturesOf,
  floorOrder,
  has,
  inOrder,
  isPosition,
  markOf,
  nameOfRoom,
  walkOrder,
} from '../survey.js';
import { missingChecks } from './checked_off.js';
import { cardOf, DONE, emergencyPositions, inForce, notedIn } from './noted.js';
import { DONE_AGAIN, differenceState, newest, passedOver, problemState, UNANSWERED } from './outcomes.js';

/** @typedef {import('../survey.js').Survey} Survey */
/** @template {string} [T=string] @typedef {import('../survey.js').ViewRecord<T>} ViewRecord */
/** @typedef {import('./noted.js').Noted} Noted */
/** A point of the list; see the twin. @typedef {{key: string, sort: string, room: string, group: string, positions: number[], code: string, facts: Facts, how: string, closing: string}} Point */
/** A group that is part of what is handed over, with what counts of each fixture. @typedef {{room: ViewRecord<'room'>, group: ViewRecord<'group'>, conversion: ViewRecord<'conversion'> | undefined, noted: Map<number, Noted>}} HandedOver */

const [NOT_DONE, PROBLEM, DIFFERS, TICKS, NO_LABEL, COUNT, TEST, LIGHT, OWN] = [
  'not-done',
  'problem',
  'differs',
  'ticks',
  'no-label',
  'count',
  'test',
  'light',
  'own',
];
/** Closed by doing them, by no words. */
export const BY_WORK_ALONE = [TICKS, TEST];
const NOT_NOTED = 'not-noted';
export const PASSED = 'passed';
const [NO_TEST, NOT_CONVERTED, TOO_SHORT] = ['no test yet', 'not converted yet', 'too short'];
const NO_WORDS = { code: 'punch.no-words', facts: {} };

/** Rooms in the order of the walk. @param {Survey} survey @returns {ViewRecord<'room'>[]} */
export function roomsInOrder(survey) {
  const floorName = (/** @type {ViewRecord<'room'>} */ room) =>
    String(facet(survey.floorOf(room), 'identity').name ?? '');
  return [...survey.ofType('room')].sort(
    (a, b) =>
      floorOrder(survey.floorOf(a)) - floorOrder(survey.floorOf(b)) ||
      inOrder(floorName(a), floorName(b)) ||
      walkOrder(a) - walkOrder(b) ||
      inOrder(nameOfRoom(a), nameOfRoom(b)) ||
      inOrder(a.id, b.id),
  );
}

/** Groups of a room by the mark of their kind. @param {Survey} survey @param {ViewRecord<'room'>} room @returns {ViewRecord<'group'>[]} */
export function groupsInOrder(survey, room) {
  const mark = (/** @type {ViewRecord<'group'>} */ group) => markOf(survey.kindOf(group));
  return survey.children(room, 'group').sort((a, b) => inOrder(mark(a), mark(b)) || inOrder(a.id, b.id));
}

/** Groups of a room that are part of what is handed over. @param {Survey} survey @param {ViewRecord<'room'>} room @returns {HandedOver[]} */
export function handedOver(survey, room) {
  return groupsInOrder(survey, room)
    .map((group) => ({ group, conversion: survey.isLive(group) ? inForce(survey, group) : undefined }))
    .filter(({ group, conversion }) => conversion || survey.children(group, 'installation').length > 0)
    .map(({ group, conversion }) => ({
      room,
      group,
      conversion,
      noted: notedIn(survey, group, conversion),
    }));
}

/** Every point of a site in the order of the walk, those that were closed too. @param {Survey} survey @returns {Point[]} */
export function punchList(survey) {
  /** @type {Map<string, ViewRecord<'punch_point'>>} */
  const closings = new Map();
  const points = [...survey.ofType('punch_point')];
  for (const each of points.sort((a, b) => closedAt(a) - closedAt(b) || inOrder(a.id, b.id))) {
    const { about } = facet(each, 'identity');
    if (about && facet(each, 'closed').how) closings.set(about, each);
  }
  const labelled = new Set(labelledIn(survey));
  return roomsInOrder(survey).flatMap((room) =>
    inRoom(survey, room, labelled).map((point) => closed(point, closings)),
  );
}

/** Whether a point is still open. @param {Point} point */
export const isOpen = ({ how }) => how === '';

/** @param {ViewRecord<'punch_point'> & {order?: Record<string, number>, seqs?: Record<string, number>}} point */
const closedAt = ({ order, seqs }) => order?.closed ?? seqs?.closed ?? 0;

/** @param {Survey} survey */
const labelledIn = (survey) =>
  survey
    .ofType('label')
    .filter((label) => has(label, 'binding') && !has(label, 'voided'))
    .map((label) =>
      placeKey(String(facet(label, 'binding').group), Number(facet(label, 'binding').position)),
    );

/** @param {string} group @param {number} position */
const placeKey = (group, position) => `${group} ${position}`;

/** @param {Survey} survey @param {ViewRecord<'room'>} room @param {Set<string>} labelled @returns {Point[]} */
function inRoom(survey, room, labelled) {
  const here = handedOver(survey, room);
  return [
    ...here.flatMap((about) => inGroup(survey, about, labelled)),
    ...light(survey, room, here),
    ...groupsInOrder(survey, room).flatMap((group) => tests(survey, room, group)),
    ...survey
      .children(room, 'punch_point')
      .filter((each) => !facet(each, 'identity').about)
      .map((each) => own(each, room)),
  ];
}

/** @param {Point} point @param {Map<string, ViewRecord<'punch_point'>>} closings @returns {Point} */
function closed(point, closings) {
  const closing = closings.get(point.key);
  if (!closing || BY_WORK_ALONE.includes(point.sort)) return point;
  return { ...point, how: String(facet(closing, 'closed').how), closing: closing.id };
}

/** @param {string} sort @param {HandedOver} about @param {number[]} positions @param {string} code @param {Facts} facts @param {string} [record] @returns {Point} */
function pointOf(sort, about, positions, code, facts, record = '') {
  return {
    key: `${sort}|${about.group.id}|${ranges(positions)}|${record || code}`,
    sort,
    room: about.room.id,
    group: about.group.id,
    positions: [...positions],
    code: `punch.${code}`,
    facts,
    how: '',
    closing: '',
  };
}

/** @param {Survey} survey @param {HandedOver} about @param {Set<string>} labelled @returns {Point[]} */
function inGroup(survey, about, labelled) {
  const mark = markOf(survey.kindOf(about.group));
  const unseen = passedOver(survey.children(about.group, 'installation'));
  const each = [...about.noted].flatMap(([position, here]) => {
    const facts = { mark, position };
    const found = problems(survey, position, here, unseen).map((noted) =>
      pointOf(PROBLEM, about, [position], PROBLEM, { ...facts, ...problem(survey, noted) }, noted.id),
    );
    return [...found, ...ofDone(survey, about, position, here, facts)];
  });
  const bare = [...about.noted]
    .filter(([position, { done }]) => done && !labelled.has(placeKey(about.group.id, position)))
    .map(([position]) => position);
  const unlabelled =
    bare.length > 0 ? [pointOf(NO_LABEL, about, bare, NO_LABEL, { mark, positions: ranges(bare) })] : [];
  return [...notDone(about, mark), ...each, ...unlabelled, ...beyondCount(about, mark)];
}

/** Fixtures that are done, and of which the survey counts none. @param {HandedOver} about @param {string} mark @returns {Point[]} */
function beyondCount(about, mark) {
  const beyond = [...about.noted.keys()].filter((position) => !isPosition(about.group, position));
  if (beyond.length === 0) return [];
  const facts = { mark, positions: ranges(beyond), count: fixturesOf(about.group) };
  return [pointOf(COUNT, about, beyond, 'beyond-count', facts)];
}

/** The problem that was noted last on a fixture, and those that nobody answered and only others' words came after. @param {Survey} survey @param {number} position @param {Noted} here @param {ViewRecord<'installation'>[]} unseen @returns {ViewRecord<'installation'>[]} */
const problems = (survey, position, { last }, unseen) => [
  ...(last && facet(last, 'identity').outcome === PROBLEM ? [last] : []),
  ...unseen.filter(
    (each) =>
      (facet(each, 'identity').position ?? 0) === position && problemState(survey, each) === UNANSWERED,
  ),
];

/** How far a fixture is: `done`, `problem`, `skipped`, `not-done-after-all` or `not-noted`. @param {Noted} noted @returns {string} */
export const stateOf = ({ last, done }) => (done ? DONE : facet(last, 'identity').outcome || NOT_NOTED);

/** @param {HandedOver} about @param {string} mark @returns {Point[]} */
function notDone(about, mark) {
  /** @type {Map<string, number[]>} */
  const byState = new Map();
  for (const [position, here] of about.noted) {
    const state = stateOf(here);
    if (state !== DONE && state !== PROBLEM) byState.set(state, [...(byState.get(state) ?? []), position]);
  }
  return [...byState].map(([state, positions]) => {
    const facts = { mark, n: positions.length, positions: ranges(positions), all: about.noted.size, state };
    return pointOf(
      NOT_DONE,
      about,
      positions,
      state === NOT_NOTED ? 'nothing-noted' : NOT_DONE,
      facts,
      state,
    );
  });
}

/** @param {Survey} survey @param {ViewRecord<'installation'>} installation @returns {Facts} */
function problem(survey, installation) {
  const { reason, problem: words } = facet(installation, 'identity');
  const state = problemState(survey, installation);
  const both = reason && words ? { code: 'punch.reason-and-words', facts: { reason, words } } : undefined;
  return {
    what: both ?? (reason || words || NO_WORDS),
    answer: {
      code: state === UNANSWERED ? 'punch.unanswered' : 'punch.answered',
      facts: { answer: state },
    },
  };
}

/** @param {Survey} survey @param {HandedOver} about @param {number} position @param {Noted} here @param {Facts} facts @returns {Point[]} */
function ofDone(survey, about, position, here, facts) {
  const { done } = here;
  if (!done) return [];
  const found = [];
  const state = differenceState(survey, done);
  if (state === UNANSWERED || state === DONE_AGAIN)
    found.push(pointOf(DIFFERS, about, [position], `differs-${state}`, facts, `${done.id}|${state}`));
  const missing = missingChecks(cardOf(here), position, facet(done, 'identity').checks ?? []);
  if (missing.length > 0)
    found.push(pointOf(TICKS, about, [position], TICKS, { ...facts, checks: missing }, done.id));
  return found;
}

/** @param {Survey} survey @param {ViewRecord<'room'>} room @param {HandedOver[]} here @returns {Point[]} */
function light(survey, room, here) {
  const whens = survey.children(room, 'lux_reading').map((each) => facet(each, 'identity').when);
  const anyDone = here.some(({ noted }) => [...noted.values()].some(({ done }) => done));
  if (!anyDone || !whens.includes('before') || whens.includes('after')) return [];
  const about = { key: `${LIGHT}|${room.id}`, sort: LIGHT, room: room.id, group: '', positions: [] };
  return [{ ...about, code: `punch.${LIGHT}`, facts: {}, how: '', closing: '' }];
}

/** Emergency fixtures whose newest test did not pass. @param {Survey} survey @param {ViewRecord<'room'>} room @param {ViewRecord<'group'>} group @returns {Point[]} */
function tests(survey, room, group) {
  const conversion = newestOf(survey, group);
  const card = cardOf({ conversion });
  /** @type {Map<number, ViewRecord<'emergency_test'>[]>} */
  const byPosition = new Map();
  for (const each of survey.children(group, 'emergency_test')) {
    const { position } = facet(each, 'identity');
    if (position !== undefined) byPosition.set(position, [...(byPosition.get(position) ?? []), each]);
  }
  const positions = new Set([...emergencyPositions(card), ...byPosition.keys()]);
  if (positions.size === 0) return [];
  const noted = notedIn(survey, group, conversion);
  const about = { room, group, conversion, noted };
  return [...positions]
    .sort((a, b) => a - b)
    .flatMap((position) => {
      const test = newest(byPosition.get(position) ?? []);
      const told = testState(test, card.emergency?.wanted_min);
      const state = !test && !noted.get(position)?.done ? NOT_CONVERTED : told;
      if (state === PASSED) return [];
      const facts = { mark: markOf(survey.kindOf(group)), position, state };
      return [pointOf(TEST, about, [position], TEST, facts, test?.id)];
    });
}

/** What a test says; one that passed for fewer minutes than it or the card wants is too short. @param {ViewRecord<'emergency_test'> | undefined} test @param {number | null | undefined} wantedMin @returns {string} */
export function testState(test, wantedMin) {
  if (!test) return NO_TEST;
  const { result, minutes = 0, wanted_min: wanted = wantedMin } = facet(test, 'identity');
  const short = result === PASSED && wanted !== undefined && wanted !== null && minutes < wanted;
  return short ? TOO_SHORT : String(result);
}

/** @param {ViewRecord<'punch_point'>} point @param {ViewRecord<'room'>} room @returns {Point} */
function own(point, room) {
  const { position, group, words } = facet(point, 'identity');
  return {
    key: point.id,
    sort: OWN,
    room: room.id,
    group: group ?? '',
    positions: position === undefined ? [] : [position],
    code: `punch.${OWN}`,
    facts: { words: words || NO_WORDS },
    how: facet(point, 'closed').how ?? '',
    closing: point.id,
  };
}

/** Numbers in short: '1–3, 7, 9, 10'. @param {number[]} numbers @returns {string} */
export function ranges(numbers) {
  /** @type {number[][]} */
  const runs = [];
  for (const each of [...numbers].sort((a, b) => a - b)) {
    const last = runs.at(-1);
    if (last && each === (last.at(-1) ?? 0) + 1) last.push(each);
    else pushRun(runs, each);
  }
  return runs.flatMap((run) => (run.length > 2 ? [`${run[0]}–${run.at(-1)}`] : run.map(String))).join(', ');
}

/** @param {number[][]} runs @param {number} first */
const pushRun = (runs, first) => runs.push([first]);
