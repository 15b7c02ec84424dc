// A cavity reading while it is typed: what it says, what is wrong with it, and what is saved of it.

import { RULES_VERSION } from '../../rules/judging/judging.js';
import { parseLength } from '../../rules/measuring/lengths.js';
import { facet, has, positionsOf } from '../../rules/survey.js';
import { checkFields } from '../forms/field_checks.js';
import { counted, verdictOf } from './judged_group.js';

/** @typedef {{position: number | null, row: number, cavity: number}} Place */
/** @typedef {{instrument: string, graduation?: string, from_hook?: boolean}} Tape */
/** @typedef {{code: string, facts: Facts}} Problem */

/** @typedef {import('../../records.d.ts').CavityReadingFacets['identity'] & {}} ReadingIdentity */

const MOST_LETTERS = 40;

/** What a tape has that nobody described. @param {'in' | 'mm'} units @returns {Tape} */
export const usualTape = (units) =>
  units === 'in'
    ? { instrument: 'us-tape', graduation: '1-16-in' }
    : { instrument: 'tape-class-ii', graduation: '1-mm' };

/** Tapes that are offered where a length was typed in a unit that the tape so far does not show. @type {Record<Units, Tape[]>} */
export const OFFERED_TAPES = {
  mm: [
    { instrument: 'tape-class-ii', graduation: '1-mm' },
    { instrument: 'tape-class-i', graduation: '1-mm' },
    { instrument: 'us-tape', graduation: '1-mm' },
  ],
  in: [
    { instrument: 'us-tape', graduation: '1-16-in' },
    { instrument: 'us-tape', graduation: '1-32-in' },
    { instrument: 'tape-class-ii', graduation: '1-16-in' },
  ],
};

/** The unit in which a tape is read; null for a gauge, which has no scale. @param {Tape} tape @returns {Units | null} */
export function unitOfTape({ instrument, graduation }) {
  if (instrument.startsWith('gauge')) return null;
  if (graduation) return graduation.endsWith('-in') ? 'in' : 'mm';
  return instrument === 'us-tape' ? 'in' : 'mm';
}

/**
 * The tape that a length was read from, which follows the unit it was typed in; null where nobody said yet with what
 * this unit is read here.
 *
 * @param {Units | undefined} unit of what was typed @param {Tape} tape in use
 * @param {Partial<Record<Units, Tape>>} known tapes of this phone by their unit
 * @returns {Tape | null}
 */
export function followedTape(unit, tape, known) {
  const shows = unitOfTape(tape);
  if (!unit || shows === null || shows === unit) return tape;
  return known[unit] ?? null;
}

/**
 * @param {object} typed
 * @param {string} typed.id of the reading
 * @param {string} typed.group
 * @param {string} typed.text
 * @param {'in' | 'mm'} typed.units of a number without a unit
 * @param {'in' | 'mm'} typed.usual what a number without a unit means on this site
 * @param {Place} typed.place
 * @param {Tape} typed.tape in use
 * @param {Partial<Record<Units, Tape>>} [typed.known] tapes of this phone by their unit
 * @param {Record<string, SpecField>} fields of the spec
 * @returns {{record?: ViewRecord<'cavity_reading'>, unit?: Units, problem?: Problem, question?: Problem & {ticks: number}}} `record`: the
 *   reading as a view record, where nothing is wrong, and the `unit` it was typed in; a `question` stands for one that
 *   has to be answered first
 */
export function draftOf({ id, group, text, units, usual, place, tape, known = {} }, fields) {
  if (!text.trim()) return {};
  const { ticks, as_entered: entered, error, question, unit: readIn } = parseLength(text, units);
  if (error) return { problem: error };
  if (question) return { question };
  const unit = readIn === 'in' ? 'in' : 'mm';
  const written = units === usual || /[a-z"']/i.test(entered ?? '') ? entered : `${entered} ${units}`;
  const identity = /** @type {ReadingIdentity} */ (
    withoutGaps({
      parent: group,
      ...place,
      length_ticks: ticks,
      as_entered: String(written).slice(0, MOST_LETTERS),
      ...(followedTape(unit, tape, known) ?? tape),
    })
  );
  const wrong = Object.values(checkFields(fields, identity))[0];
  if (wrong) return { problem: wrong };
  return {
    unit,
    record: {
      id,
      type: 'cavity_reading',
      parent: group,
      removed: false,
      facets: { identity },
      conflicts: [],
    },
  };
}

/** Without what is not there. @param {Value} value */
const withoutGaps = (value) =>
  Object.fromEntries(Object.entries(value).filter(([, each]) => each !== undefined && each !== null));

/** The draft, confirmed as it stands. @param {ViewRecord<'cavity_reading'>} record @returns {ViewRecord<'cavity_reading'>} */
export const confirmedDraft = (record) => ({
  ...record,
  facets: { ...record.facets, confirmed: { answer: 'it-is-what-the-tape-shows' } },
});

/**
 * What is saved of a draft: the reading with the verdict that was shown, and its confirmation if it was given.
 *
 * @param {ViewRecord<'cavity_reading'>} record @param {Judgement | null} told the judgement with this reading in it @param {ViewRecord<'cavity_reading'>[]} readings of the group, without it
 * @param {ViewRecord<'trial_bar'>[]} [trials] trial bars of the group
 */
export function savesOf({ id, type, facets }, told, readings, trials = []) {
  const best = told && told.best !== null ? told.fits[told.best].bars : [];
  const tried = trials.filter((each) => !has(each, 'voided')).length;
  const seen = {
    verdict: verdictOf(told),
    n: counted(readings).length + 1,
    bars: best,
    ...(tried > 0 && { trials: tried }),
  };
  const value = { ...facets.identity, verdict_seen: seen, rules_version: RULES_VERSION };
  /** @type {Draft[]} */
  const saves = [{ record: id, type, facet: 'identity', value, seen: null }];
  if (facets.confirmed)
    saves.push({ record: id, type, facet: 'confirmed', value: facets.confirmed, seen: null });
  return saves;
}

/**
 * The next fixture without a reading at this row and cavity, after one; the one after it where all have been read.
 *
 * @param {ViewRecord<'group'>} group @param {(ViewRecord<'cavity_reading'> | ViewRecord<'trial_bar'>)[]} readings that count, or trials @param {Place} place
 */
export function nextPosition(group, readings, { position, row, cavity }) {
  const read = new Set(
    readings
      .map((each) => facet(each, 'identity'))
      .filter((each) => each.row === row && each.cavity === cavity)
      .map((each) => each.position),
  );
  const open = positionsOf(group).filter((each) => !read.has(each));
  const after = position ?? 0;
  return open.find((each) => each > after) ?? open[0] ?? Math.max(after, 1);
}
