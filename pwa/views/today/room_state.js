// How far a room and each of its fixtures is: one state, with its word and colour, for pin, row and tile alike. Pure.

import { DONE_AGAIN, UNANSWERED } from '../../rules/installing/outcomes.js';

/** @typedef {import('../crew/jobs.js').Job} Job */
/** @typedef {import('../crew/jobs.js').Noted} Noted */
/** @typedef {'answered' | 'problem' | 'stopped' | 'done' | 'begun' | 'not-begun'} RoomState `stopped`: what is left must not be converted for now */
/** @typedef {'answered' | 'problem' | 'done' | 'skipped' | 'undone' | 'open' | 'not-in-release'} FixtureState `undone`: it was noted as done, and is not after all */

/** Colours of states; each stands beside its word. @type {Record<RoomState | FixtureState, 'attention' | 'done' | ''>} */
export const LOOKS = {
  answered: 'attention',
  problem: 'attention',
  stopped: 'attention',
  done: 'done',
  begun: '',
  'not-begun': '',
  skipped: '',
  undone: 'attention',
  open: '',
  'not-in-release': 'attention',
};

/** Whether the desk said something to what was noted: there a crew goes on. @param {Noted} noted */
export const isFromTheDesk = ({ outcome, state }) =>
  (outcome === 'problem' && state !== UNANSWERED) || state === DONE_AGAIN;

/** @param {Noted | undefined} noted what was noted last on a fixture @returns {FixtureState} */
export function fixtureState(noted) {
  if (!noted) return 'open';
  if (isFromTheDesk(noted)) return 'answered';
  const { outcome } = noted;
  if (outcome === 'not-done-after-all') return 'undone';
  return outcome === 'problem' || outcome === 'done' || outcome === 'skipped' ? outcome : 'open';
}

/** The same of a fixture of a job: what its release has not is not to be done. @param {Job} job @param {number} position @returns {FixtureState} */
export const fixtureStateIn = ({ told, further }, position) =>
  further.includes(position) ? 'not-in-release' : fixtureState(told.get(position));

/** What somebody has to know first comes first. @param {Job[]} jobs of one room that may be done @param {number} [stopped] how many more have fixtures left that may not @returns {RoomState} */
export function roomState(jobs, stopped = 0) {
  const states = jobs.flatMap(({ told }) => [...told.values()].map(fixtureState));
  if (states.includes('answered')) return 'answered';
  if (states.includes('problem')) return 'problem';
  if (jobs.every(({ left }) => left.length === 0)) return stopped > 0 ? 'stopped' : 'done';
  return states.some((state) => state !== 'open') ? 'begun' : 'not-begun';
}
