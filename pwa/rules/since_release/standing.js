// May a conversion that was released still be carried out? Twin: server/spanwalk/rules/since_release/standing.py.

import * as constants from '../constants.js';
import { lastWord } from '../installing/last_word.js';
import { facet, has, inOrder, isPosition, positionsOf } from '../survey.js';
import { LOOK, STOP, saidBy } from './seen.js';
import { changesOf, stopsFirst } from './standing_changes.js';

/** @typedef {import('../survey.js').Survey} Survey */
/** @template {string} [T=string] @typedef {import('./seen.js').ViewRecord<T>} ViewRecord */
/** @typedef {import('./seen.js').Change} Change */
/** @typedef {{answer: string, by?: string, at?: string}} Answer */
/**
 * How a conversion stands; see the twin.
 * @typedef {{standing: string, release: number, locked: boolean, changes: Change[], fingerprint: string, answer: Answer | null}} Standing
 */
/** @typedef {{release: number, standing: string, changed: boolean, changes: Change[]}} Done */

export { LOOK, STOP };
export const IN_FORCE = constants.IN_FORCE;
export const WITHDRAWN = constants.WITHDRAWN;
export const SUPERSEDED = constants.SUPERSEDED;
const LOCKED = [STOP, WITHDRAWN, SUPERSEDED];
const FNV_PRIME = constants.FNV_PRIME;
const FNV_OFFSETS = constants.FNV_OFFSETS;
const HEX = 16;
const DIGITS = 8;

/** Number of the release that a conversion is of; 0 where there is none. @param {ViewRecord<'conversion'> | undefined} conversion @returns {number} */
export const numberOf = (conversion) => Number(facet(conversion, 'identity').number ?? 0);

/** The conversion of a group's newest release, withdrawn or not. @param {Survey} survey @param {ViewRecord<'group'>} group @returns {ViewRecord<'conversion'> | undefined} */
export const newestOf = (survey, group) =>
  survey
    .children(group, 'conversion')
    .reduce(
      (best, each) => (best === undefined || numberOf(each) > numberOf(best) ? each : best),
      /** @type {ViewRecord<'conversion'> | undefined} */ (undefined),
    );

/**
 * How a conversion stands now: superseded before withdrawn, withdrawn before what changed.
 * @param {Survey} survey the records as they are now @param {ViewRecord<'conversion'>} conversion @param {Reference} tables reference tables
 * @param {number | null} [position] one fixture of the group; null: the strictest that holds for any of them
 * @returns {Standing}
 */
export function standingOf(survey, conversion, tables, position = null) {
  /** @type {ViewRecord<'group'> | undefined} */
  const group = survey.get(conversion.parent);
  const [newest, number] = [group && newestOf(survey, group), numberOf(conversion)];
  if (newest && numberOf(newest) > number) {
    return told(conversion, SUPERSEDED, [
      { fact: 'superseded', weight: STOP, before: number, now: numberOf(newest) },
    ]);
  }
  const calledBack = withdrawnBy(survey, conversion);
  if (calledBack.length > 0) return told(conversion, WITHDRAWN, calledBack);
  /** @param {number | null} [of] */
  const changesAt = (of) => [
    ...changesOf(survey, conversion, tables, of),
    ...ofPartner(survey, conversion, tables, of),
  ];
  const changes = stopsFirst(changesAt(position));
  const whole = position === null ? changes : changesAt();
  const fingerprint = fingerprintOf(whole);
  const answer = answerTo(conversion, fingerprint);
  if (changes.some(({ weight }) => weight === STOP)) {
    return told(conversion, answer ? LOOK : STOP, changes, fingerprint, answer);
  }
  return told(conversion, changes.length > 0 ? LOOK : IN_FORCE, changes, fingerprint, answer);
}

/**
 * What the newest word on a fixture is worth where it says that it is done; null where it does not.
 * @param {Survey} survey @param {ViewRecord<'group'>} group @param {number} position @param {Reference} tables @returns {Done | null}
 */
export function doneAt(survey, group, position, tables) {
  const said = facet(lastWord(survey.children(group, 'installation'), position), 'identity');
  /** @type {ViewRecord<'conversion'> | undefined} */
  const conversion = survey.get(said.conversion);
  if (said.outcome !== 'done' || !conversion) return null;
  const { standing, changes } = standingOf(survey, conversion, tables, position);
  return { release: numberOf(conversion), standing, changed: LOCKED.includes(standing), changes };
}

/** @param {ViewRecord<'conversion'>} conversion @param {string} standing @param {Change[]} changes @param {string} [fingerprint] @param {Answer | null} [answer] @returns {Standing} */
function told(conversion, standing, changes, fingerprint = '', answer = null) {
  const locked = LOCKED.includes(standing);
  return { standing, release: numberOf(conversion), locked, changes, fingerprint, answer };
}

/** What called a conversion back: a manager, or that its group is there no more. @param {Survey} survey @param {ViewRecord<'conversion'>} conversion @returns {Change[]} */
function withdrawnBy(survey, conversion) {
  const release = survey.get(facet(conversion, 'identity').release);
  for (const [fact, record] of /** @type {const} */ ([
    ['conversion.withdrawn', conversion],
    ['release.withdrawn', release],
  ])) {
    if (record && has(record, 'withdrawn')) {
      const now = facet(record, 'withdrawn').reason ?? null;
      return [{ fact, weight: STOP, before: null, now, ...saidBy(record, 'withdrawn') }];
    }
  }
  return survey.isLive(conversion) ? [] : [{ fact: 'removed', weight: STOP, before: null, now: null }];
}

/** A body on the same ballast that may not be converted, or is there no more: neither may this one be. @param {Survey} survey @param {ViewRecord<'conversion'>} conversion @param {Reference} tables @param {number | null} [position] @returns {Change[]} */
function ofPartner(survey, conversion, tables, position = null) {
  const about = facet(conversion, 'identity').facts?.partner;
  if (!about) return [];
  /** @type {ViewRecord<'group'> | undefined} */
  const partner = survey.get(about);
  const now = ownStanding(survey, partner && newestOf(survey, partner), tables);
  const found = now === LOOK ? [] : [{ fact: 'partner', weight: STOP, before: null, now, about }];
  const alone = withoutPartner(survey.get(conversion.parent), partner, position);
  if (alone.length === 0) return found;
  const weight = position === null ? LOOK : STOP;
  return [...found, { fact: 'partner-gone', weight, before: null, now: alone, about }];
}

/** Fixtures of a group, or the one, whose partner on the same ballast is there no more. @param {ViewRecord<'group'> | undefined} group @param {ViewRecord<'group'> | undefined} partner @param {number | null} position @returns {number[]} */
const withoutPartner = (group, partner, position) =>
  group && partner
    ? positionsOf(group).filter(
        (each) => !isPosition(partner, each) && (position === null || position === each),
      )
    : [];

/** How a partner's conversion stands by itself: one step, not back again. @param {Survey} survey @param {ViewRecord<'conversion'> | undefined} conversion @param {Reference} tables @returns {string} */
function ownStanding(survey, conversion, tables) {
  if (!conversion) return 'not released';
  if (withdrawnBy(survey, conversion).length > 0) return WITHDRAWN;
  const changes = changesOf(survey, conversion, tables);
  const stops = changes.some(({ weight }) => weight === STOP);
  // Where its own partner stops it too, its answer names that as well: then each of the pair is answered for itself.
  const answered =
    has(conversion, 'answer') && facet(conversion, 'answer').changes === fingerprintOf(changes);
  return stops && !answered ? STOP : LOOK;
}

/** Fixtures of a group that its release has not, and that nobody let go on; see the twin. @param {Standing | undefined} stands of the group as a whole @returns {number[]} */
export function notReleased(stands) {
  if (!stands || stands.answer) return [];
  const further = stands.changes.find(({ fact }) => fact === 'not-in-release');
  return /** @type {number[]} */ (further?.now ?? []);
}

/** A manager's answer to just these changes. @param {ViewRecord<'conversion'>} conversion @param {string} fingerprint @returns {Answer | null} */
function answerTo(conversion, fingerprint) {
  const { changes, answer = '' } = facet(conversion, 'answer');
  if (!fingerprint || changes !== fingerprint) return null;
  return { answer, ...saidBy(conversion, 'answer') };
}

/** What names a set of changes: 16 hexadecimal digits; empty where nothing changed. @param {Change[]} changes @returns {string} */
export function fingerprintOf(changes) {
  const lines = changes
    .map(({ fact, about = '', before, now }) => [fact, about, textOf(before), textOf(now)].join('|'))
    .sort(inOrder);
  const bytes = new TextEncoder().encode(lines.join('\n'));
  return lines.length > 0 ? FNV_OFFSETS.map((offset) => fnv(bytes, offset)).join('') : '';
}

/** A value in a fingerprint. @param {unknown} value @returns {string} */
export function textOf(value) {
  if (value === null || value === undefined) return '';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  return Array.isArray(value) ? value.map(textOf).join(',') : String(value);
}

/** @param {Uint8Array} bytes @param {number} offset */
function fnv(bytes, offset) {
  let found = offset;
  for (const byte of bytes) found = Math.imul(found ^ byte, FNV_PRIME) >>> 0;
  return found.toString(HEX).padStart(DIGITS, '0');
}
