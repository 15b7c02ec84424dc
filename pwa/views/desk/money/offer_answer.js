// What may be noted as a customer's answer to an offer: only options that it has, on a day that can be.

import { facet } from '../../../rules/survey.js';
import { isDay, notDays } from '../../forms/days_typed.js';
import { dayText } from '../../numbers.js';
import { dayOf } from '../../today/days.js';

/** @typedef {import('../../forms/field_checks.js').Field} Field */
/** @typedef {import('../../forms/field_checks.js').Problem} Problem */
/** What of an offer's figures is read here. @typedef {{currency?: string, made_on?: string, options?: Array<{name: string, money?: {cost?: number | null}}>}} OfferedTold */

/** The code of an answer's option, by what the offer calls it. @type {Record<string, string>} */
const CHOICE = { planned: 'as-offered', leanest: 'least-to-pay-now', released: 'as-released' };
const ACCEPTED = 'accepted';

/** What an offer tells of its options. @param {RecordView<'offer'>} offer */
const toldBy = (offer) => /** @type {OfferedTold | undefined} */ (facet(offer, 'identity').told);

/** The day on which it was made, by the building's own days where its paper has it; else by this phone's. @param {RecordView<'offer'>} offer */
export const madeOn = (offer) =>
  toldBy(offer)?.made_on || dayOf(new Date(facet(offer, 'identity').made_at ?? ''));

/** What one of its options costs, as it was offered; null where it has none such. @param {RecordView<'offer'>} offer @param {string} [choice] as offered, unless said */
export function priceOf(offer, choice = CHOICE.planned) {
  const cost = toldBy(offer)?.options?.find(({ name }) => CHOICE[name] === choice)?.money?.cost;
  return typeof cost === 'number' ? cost : null;
}

/**
 * The fields of an answer, with the options that this offer has; a change order has none.
 *
 * @param {RecordView<'offer'>} offer @param {Record<string, Field>} fields
 * @returns {Record<string, Field>}
 */
export function answerFields(offer, { option, ...others }) {
  const has = new Set((toldBy(offer)?.options ?? []).map(({ name }) => CHOICE[name]));
  const choices = (option?.choices ?? []).filter((choice) => has.has(choice));
  if (!option || choices.length === 0) return others;
  const { answer, ...rest } = others;
  return { answer, option: { ...option, choices }, ...rest };
}

/**
 * What is wrong with the day of an answer: it is none, before the offer was made, or still to come.
 *
 * @param {RecordView<'offer'>} offer @param {Record<string, Field>} fields @param {string} today @param {Value} value
 * @returns {Record<string, Problem>}
 */
export function wrongDay(offer, fields, today, value) {
  const wrong = notDays(fields, ['answered_on'], value);
  if (Object.keys(wrong).length > 0) return wrong;
  const on = String(value.answered_on ?? '');
  const made = madeOn(offer);
  if (on < made) return { answered_on: { code: 'offer.answered-before', facts: { day: dayText(made) } } };
  return on > today
    ? { answered_on: { code: 'offer.answered-to-come', facts: { day: dayText(today) } } }
    : {};
}

/** Whether it was accepted after its last day: it need not hold then. @param {RecordView<'offer'>} offer @param {Value} value */
export function isLate(offer, { answer, answered_on: on }) {
  const until = facet(offer, 'identity').valid_until;
  return Boolean(answer === ACCEPTED && until && isDay(String(on)) && String(on) > until);
}
