// Sentences as screens show them: facts that are lengths are shown as they stand on the tape, and in millimetres.

import { TICKS_PER_64TH_INCH, TICKS_PER_TENTH_MM } from '../rules/constants.js';
import { formatInches, formatMm, TICKS_PER_INCH, TICKS_PER_MM } from '../rules/measuring/lengths.js';
import { store } from '../store/store.js';
import { arrangementText } from './coded_text.js';
import { dateText, markedText, numberText, pluralOf } from './numbers.js';

const TICKS_PER_FOOT = 12 * TICKS_PER_INCH;
/** From here on a length is a room's: feet are said apart. */
const ROOM_TICKS = 10 * TICKS_PER_FOOT;

/** Shorter than this, a length is a gap or a tolerance: millimetres say it best. */
const SHORT_TICKS = 3 * TICKS_PER_INCH;

/** No fixture is so long: what may be longer is the length or height of a room. */
const FIXTURE_MOST_TICKS = 10_000 * TICKS_PER_MM;

/** @param {number} ticks [1/320 mm] */
export const mmText = (ticks) => markedText(formatMm(ticks));

/** Millimetres without a tenth that nobody measured: '540 mm', '69.9 mm'. @param {number} ticks [1/320 mm] */
const plainMm = (ticks) => `${mmText(ticks).replace(/[.,]0$/, '')} mm`;

/** Whether a field says how long or high a room is, or something in it: in feet and inches, or whole millimetres. @param {{max?: number, of: {ticks?: boolean}}} field */
export const isOfRoom = ({ max = 0, of }) => Boolean(of.ticks) && max > FIXTURE_MOST_TICKS;

/**
 * A length to read, in the units of who reads first: '6.4 mm', '45 3/16 in (1,147.8 mm)', '1,147.8 mm (45 3/16 in)'.
 *
 * @param {number} ticks [1/320 mm]
 */
export function lengthText(ticks) {
  const mm = `${mmText(ticks)} mm`;
  if (Math.abs(ticks) < SHORT_TICKS)
    return store.ownUnits === 'in' && ticks >= 0 ? `${lengthIn(ticks, 'in')} (${mm})` : mm;
  const inches = ticks < ROOM_TICKS ? `${formatInches(ticks)} in` : feetText(ticks);
  return store.units === 'mm' ? `${mm} (${inches})` : `${inches} (${mm})`;
}

/**
 * The unit that a kept length was probably entered in: what only one tape shows exactly was read from that one; of both,
 * the one on which it is a whole number.
 *
 * @param {number} ticks [1/320 mm] @param {Units} usual where both show it, or neither does
 * @returns {Units}
 */
export function unitItWentIn(ticks, usual) {
  const shown = likelier(ticks, TICKS_PER_64TH_INCH, TICKS_PER_TENTH_MM);
  if (shown !== 'both') return shown ?? usual;
  const whole = likelier(ticks, TICKS_PER_INCH, TICKS_PER_MM);
  return whole === 'both' ? usual : (whole ?? usual);
}

/** Which of two marks a length falls on. @param {number} ticks @param {number} inches @param {number} mm @returns {Units | 'both' | null} */
function likelier(ticks, inches, mm) {
  const [onInches, onMm] = [ticks % inches === 0, ticks % mm === 0];
  if (onInches && onMm) return 'both';
  return onInches ? 'in' : onMm ? 'mm' : null;
}

/** The tape of a unit that was typed: 'ft' is on the one in inches. @param {string | undefined} unit @returns {Units | undefined} undefined: none was read */
export const unitTyped = (unit) => (unit ? (unit === 'in' || unit === 'ft' ? 'in' : 'mm') : undefined);

/**
 * A length that somebody entered, first in the unit it went in (or that its reader chose), the other beside it: '2 3/4 in (69.9 mm)', '540 mm (≈ 21 1/4 in)'.
 *
 * @param {number} ticks [1/320 mm] @param {Units} [wentIn] where it is known @param {boolean} [ofRoom] of a room:
 *   '2,700 mm (≈ 8 ft 10 5/16 in)', '8 ft 10 in (2,692 mm)'
 */
export function keptLengthText(ticks, wentIn = unitItWentIn(ticks, store.units), ofRoom = false) {
  const isFar = ofRoom && wentIn === 'in';
  const mm = plainMm(isFar ? Math.round(ticks / TICKS_PER_MM) * TICKS_PER_MM : ticks);
  const inches = ticks < (ofRoom ? TICKS_PER_FOOT : ROOM_TICKS) ? lengthIn(ticks, 'in') : feetText(ticks);
  if ((store.ownUnits ?? wentIn) === 'in') return `${inches} (${mm})`;
  return wentIn === 'mm' && ticks < SHORT_TICKS ? mm : `${mm} (${inches})`;
}

/**
 * A length as it was entered; its unit is said where who reads it would take a bare number for another.
 *
 * @param {string} entered @param {Units} meant what a bare number means on the site
 */
export const enteredText = (entered, meant) =>
  store.units === meant || /[a-z"'′″]/i.test(entered) ? entered : `${entered} ${meant}`;

/**
 * A length in one unit alone, for who has one tape: '45 3/16 in', '2 mm'.
 *
 * @param {number} ticks [1/320 mm] @param {'in' | 'mm'} units
 */
export function lengthIn(ticks, units) {
  if (units === 'mm') return plainMm(ticks);
  const inches = formatInches(ticks);
  return inches === '≈ 0' ? 'under 1/16 in' : `${inches} in`;
}

/** Feet, and inches to the nearest sixteenth. @param {number} ticks [1/320 mm] */
function feetText(ticks) {
  const feet = Math.floor(ticks / TICKS_PER_FOOT);
  const inches = formatInches(ticks - feet * TICKS_PER_FOOT);
  const near = inches.startsWith('≈') ? '≈ ' : '';
  const rest = inches.replace('≈ ', '');
  return rest === '0' ? `${near}${feet} ft` : `${near}${feet} ft ${rest} in`;
}

/** From here on hundredths of a currency only hide the sum. */
const WHOLE_FROM = 1000;

/** An amount of money to read, thousands marked; its currency stands beside it. @param {number} amount */
export function amountText(amount) {
  return numberText(amount, Math.abs(amount) < WHOLE_FROM ? 2 : 0);
}

/** @param {string} name @param {unknown} value @param {'in' | 'mm'} [units] @returns {string} */
function factText(name, value, units) {
  if (Array.isArray(value)) return value.map((each) => factText(name, each, units)).join(', ');
  // A sentence in a sentence: what holds a neighbour back, where a bar lies, and the like.
  const told = /** @type {Partial<Reason> | null | undefined} */ (value);
  if (typeof told?.code === 'string') return say(told.code, told.facts, units);
  if (name.endsWith('_ticks') && typeof value === 'number')
    return units ? lengthIn(value, units) : lengthText(value);
  if (name === 'facet') return facetText(String(value));
  if (name.endsWith('_money') && typeof value === 'number') return amountText(value);
  if (typeof value === 'number' && !Number.isInteger(value)) return markedText(String(value));
  return choiceText(value);
}

/** What people read for the code of a facet, of the first type that has one so called; what is no such code stays as it is. @param {string} code */
function facetText(code) {
  if (code === 'life') return say('sync.removed-or-not');
  const of = Object.values(store.tables.spec.records ?? {}).find(({ facets }) => facets[code]);
  return of?.facets[code].title ?? code;
}

/** Between several choices that name one row. */
const BETWEEN = ' · ';

/** @param {string} code @returns {string | undefined} */
const chosen = (code) => store.tables.words[`choice.${code}`];

/**
 * What people read for the code of a choice: `lay-in-grid` is 'lay-in grid'; what is no such code stays as it is.
 * The row of a figure names several, with BETWEEN between them.
 *
 * @param {unknown} code
 */
export const choiceText = (code) =>
  String(code)
    .split(BETWEEN)
    .map((part) => chosen(part) ?? chosen(part.replaceAll(' ', '-')) ?? arrangementText(part))
    .join(BETWEEN);

/**
 * The sentence of a code with its facts in it; a fact may be such a sentence itself.
 *
 * @param {string} code @param {Facts} [facts]
 * @param {'in' | 'mm'} [units] lengths in this unit alone; without it in both
 */
export function say(code, facts = {}, units) {
  return store.say(
    code,
    Object.fromEntries(Object.entries(facts).map(([name, value]) => [name, factText(name, value, units)])),
  );
}

/** What went wrong, in a sentence. @param {unknown} thrown @returns {string} */
export function sayError(thrown) {
  const error = /** @type {Thrown} */ (thrown);
  if (error?.facts?.detail) return String(error.facts.detail);
  // What a browser throws has a number for a code, or none.
  return typeof error?.code === 'string'
    ? say(error.code, error.facts ?? {})
    : say('view.went-wrong', { reason: String(error?.message ?? error) });
}

/** A device time, to be read: day and minute. @param {string} at */
export function timeText(at) {
  const time = new Date(at);
  return Number.isNaN(time.getTime()) ? at : dateText(time);
}

/** So many of a thing: '1 group', '3 groups'. @param {number} count @param {string} thing `counted.<thing>.one` and so on are its words */
export const counted = (count, thing) => say(`counted.${thing}.${pluralOf(count)}`, { count });
