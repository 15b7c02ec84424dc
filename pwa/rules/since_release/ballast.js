// The old ballast, judged by what may be dangerous in it and was not when it was released. Twin: server/spanwalk/rules/since_release/ballast.py.

import * as constants from '../constants.js';
import { before, change, LOOK, now, STOP, saidBy } from './seen.js';

/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./seen.js').Change} Change */
/** @typedef {{ballast?: string | null, pcb_mark?: string | null, made?: string | null, capacitor?: string | null, capacitor_made?: string | null}} Ballast what nobody said is null or missing */

const NOT_SEEN = 'not-seen';
/** Dangers that decide in which container a ballast goes. */
const OF_PCB = ['old', 'old-capacitor'];
/** What of a ballast says whether it, or a capacitor beside it, is dangerous. @type {readonly (keyof Ballast)[]} */
const JUDGED = /** @type {(keyof Ballast)[]} */ (constants.JUDGED_OF_BALLASTS);
/** Ballasts of later years hold no PCB; capacitors of this year or later hold none: see the twin's sources. */
const { PCB_UNTIL_YEAR, CLEAR_CAPACITOR_FROM } = constants;

/** Another kind of ballast, mark, date or capacitor: it stops where it may hold what the card does not warn of. @param {Seen} seen @returns {Change[]} */
export function ballast(seen) {
  const from = said((field) => before(seen, 'kind', 'ballast', field));
  const to = said((field) => now(seen, 'kind', 'ballast', field));
  const known = dangersOf(from);
  const weight = [...dangersOf(to)].some((each) => !known.has(each)) ? STOP : LOOK;
  return JUDGED.filter((field) => from[field] !== to[field]).map((field) =>
    change(`kind.ballast.${field}`, weight, from[field], to[field], saidBy(seen.records.kind, 'ballast')),
  );
}

/** @param {(field: keyof Ballast) => string | null} of @returns {Ballast} */
const said = (of) => Object.fromEntries(JUDGED.map((field) => [field, of(field)]));

/** What may be dangerous about a ballast, whatever the region; see the twin. @param {Ballast} ballast @returns {Set<string>} */
export function dangersOf(ballast) {
  const [gear, { capacitor }] = [ballast.ballast || NOT_SEEN, ballast];
  const made = yearWritten(ballast.made);
  const unmarked = ['magnetic', NOT_SEEN].includes(gear) && ballast.pcb_mark !== 'marked';
  const hasCapacitor = capacitor === 'seen' || (capacitor !== 'none' && gear === 'magnetic');
  const capacitorMade = yearWritten(ballast.capacitor_made) ?? made;
  const found = {
    'no-mark': unmarked,
    old: unmarked && (made === null || made <= PCB_UNTIL_YEAR),
    capacitor: hasCapacitor,
    'old-capacitor': hasCapacitor && (capacitorMade === null || capacitorMade < CLEAR_CAPACITOR_FROM),
  };
  return new Set(Object.entries(found).flatMap(([name, holds]) => (holds ? [name] : [])));
}

/** Whether ballasts may hold PCB by what is known now, and did not by what was known when they were released. @param {Ballast} released @param {Ballast} to @returns {boolean} */
export function isSuspectSince(released, to) {
  const [known, dangers] = [dangersOf(released), dangersOf(to)];
  return OF_PCB.some((each) => dangers.has(each) && !known.has(each));
}

/** The year in a date as written down; null where there is none. @param {string | null} [text] @returns {number | null} */
function yearWritten(text) {
  const found = /(?<!\d)((?:19|20)\d\d)(?!\d)/.exec(text ?? '');
  return found ? Number(found[1]) : null;
}
