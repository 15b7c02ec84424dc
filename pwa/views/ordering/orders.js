// Orders as screens show them: what was ordered, what came of it, how far each is. Pure.

import { byPlace } from '../../rules/installing/outcomes.js';
import { facet, has } from '../../rules/survey.js';

/** @typedef {import('../../rules/survey.js').Survey} Survey */
/** What came of an item by one delivery. @typedef {{record: RecordView<'delivery'>, item: string, slip: string, good: number, damaged: number, wrong: number, short: number, instead: string, disputed: boolean}} Came */
/** A line of an order with what came of it [pieces]; `left` has not come, `over` came beyond it. @typedef {OrderLine & {good: number, damaged: number, wrong: number, short: number, left: number, over: number}} LineState */
/** @typedef {{record: RecordView<'order'>, number: number, sort: string, supplier: string, madeOn: string, wantedOn: string, note: string, state: string, lines: LineState[], came: Came[], ordered: number, good: number, sentOn: string, expectedOn: string}} OrderState */
/** When something is to come: as promised, or by its lead time; `on` null: nobody can tell, and where `isSent` is false its order is not noted as sent. @typedef {{on: string | null, isSent: boolean}} Expected */

const DAY_LETTERS = '2026-03-01'.length;
const DAY_MS = 86_400_000;
/** How far an order is, as a choice's code. */
export const CANCELLED = 'cancelled';
const NOT_SENT = 'not-sent-yet';
const WAITING = 'waiting';
const PART = 'part-came';
export const COMPLETE = 'all-came';

/** All orders, the newest first. @param {Survey} survey @returns {OrderState[]} */
export function ordersOf(survey) {
  return /** @type {RecordView<'order'>[]} */ (survey.ofType('order'))
    .map((record) =>
      orderState(record, /** @type {RecordView<'delivery'>[]} */ (survey.children(record, 'delivery'))),
    )
    .sort((a, b) => b.number - a.number);
}

/** How far an order is. @param {RecordView<'order'>} record @param {RecordView<'delivery'>[]} deliveries @returns {OrderState} */
export function orderState(record, deliveries) {
  const said = facet(record, 'identity');
  const came = [...deliveries].sort(byPlace).map(cameOf);
  const lines = /** @type {OrderLine[]} */ (said.lines ?? []).map((line) => lineState(line, came));
  const sum = (/** @type {(line: LineState) => number} */ of) =>
    lines.reduce((all, each) => all + of(each), 0);
  const [ordered, good] = [sum(({ pieces }) => Math.max(0, pieces)), sum((line) => line.good)];
  return {
    record,
    number: said.number ?? 0,
    sort: said.sort ?? '',
    supplier: said.supplier ?? '',
    madeOn: (said.made_at ?? '').slice(0, DAY_LETTERS),
    wantedOn: said.wanted_on ?? '',
    note: said.note ?? '',
    state: stateOf(record, came, lines),
    lines,
    came,
    ordered,
    good,
    sentOn: facet(record, 'sent').sent_on ?? '',
    expectedOn: facet(record, 'sent').promised_on ?? '',
  };
}

/** @param {RecordView<'order'>} record @param {Came[]} came @param {LineState[]} lines */
function stateOf(record, came, lines) {
  if (has(record, 'cancelled')) return CANCELLED;
  const brings = lines.filter(({ pieces }) => pieces > 0);
  if (brings.length > 0 && brings.every(({ left }) => left === 0)) return COMPLETE;
  if (came.length > 0) return PART;
  return has(record, 'sent') ? WAITING : NOT_SENT;
}

/** @param {RecordView<'delivery'>} record @returns {Came} */
function cameOf(record) {
  const { item = '', slip = '' } = facet(record, 'identity');
  const { good = 0, damaged = 0, wrong = 0, short = 0, came_instead: instead = '' } = facet(record, 'count');
  const disputed = (record.conflicts ?? []).some((each) => each.facet === 'count');
  return { record, item, slip, good, damaged, wrong, short, instead, disputed };
}

/** @param {OrderLine} line @param {Came[]} came @returns {LineState} */
function lineState(line, came) {
  const here = came.filter(({ item }) => item === line.item);
  const sum = (/** @type {(each: Came) => number} */ of) => here.reduce((all, each) => all + of(each), 0);
  const good = sum((each) => each.good);
  return {
    ...line,
    good,
    damaged: sum((each) => each.damaged),
    wrong: sum((each) => each.wrong),
    short: sum((each) => each.short),
    left: Math.max(0, line.pieces - good),
    over: line.pieces > 0 ? Math.max(0, good - line.pieces) : 0,
  };
}

/** Why an item is not to be fitted, or not ordered any more. @typedef {{how: 'recalled' | 'retired', reason: string}} Barred */

/** Items that were recalled or retired, by id. @param {Survey} survey @returns {Map<string, Barred>} */
export function barredItems(survey) {
  /** @type {Map<string, Barred>} */
  const found = new Map();
  for (const record of /** @type {RecordView<'catalogue_item'>[]} */ (survey.ofType('catalogue_item'))) {
    const { retired, reason: why = '' } = facet(record, 'retired');
    if (retired) found.set(record.id, { how: 'retired', reason: why || '–' });
    if (has(record, 'recall'))
      found.set(record.id, { how: 'recalled', reason: facet(record, 'recall').reason ?? '' });
  }
  return found;
}

/** Items that are still to come by an order and were recalled or retired since. @param {OrderState} order @param {Map<string, Barred>} barred @returns {Array<Barred & {code: string, left: number}>} */
export const barredIn = ({ state, lines }, barred) =>
  state === CANCELLED
    ? []
    : lines.flatMap(({ item, code, left }) => {
        const why = left > 0 && barred.get(item);
        return why ? [{ ...why, code, left }] : [];
      });

/** Item -> what the orders come to; of a cancelled one what came before. @param {OrderState[]} orders @returns {Record<string, number>} */
export function orderedOf(orders) {
  /** @type {Record<string, number>} */
  const found = {};
  for (const { state, lines } of orders)
    for (const { item, pieces, good } of lines)
      found[item] = (found[item] ?? 0) + (state === CANCELLED ? good : pieces);
  return found;
}

/**
 * The first day on which something of an item is to come: as promised, else by its lead time from the day on which its order
 * was sent. What was not sent comes on no day, whatever its lead time.
 *
 * @param {OrderState[]} orders @param {string} item
 * @returns {Expected}
 */
export function expectedOf(orders, item) {
  const waited = orders.filter(
    ({ state, lines }) => state !== CANCELLED && lines.some((line) => line.item === item && line.left > 0),
  );
  const sent = waited.filter(({ state }) => state !== NOT_SENT);
  const days = sent
    .flatMap(({ lines, expectedOn: promised, sentOn, madeOn }) =>
      lines
        .filter((line) => line.item === item && line.left > 0)
        .map(
          ({ lead_days: lead }) => promised || (lead === undefined ? '' : daysAfter(sentOn || madeOn, lead)),
        ),
    )
    .filter(Boolean);
  return { on: days.sort()[0] ?? null, isSent: waited.length === 0 || sent.length > 0 };
}

/** @param {string} day @param {number} days @returns {string} */
export function daysAfter(day, days) {
  const at = Date.parse(`${day}T00:00:00Z`);
  return Number.isNaN(at) ? '' : new Date(at + days * DAY_MS).toISOString().slice(0, DAY_LETTERS);
}

/** A delivery note's number as it is compared: 'dn 17 ' and 'DN 17' are one. @param {string} slip */
export const sameSlip = (slip) => slip.trim().replace(/\s+/g, ' ').toUpperCase();

/** What the record of an item in a delivery is named by, so that two who count it apart meet in one. @param {string} slip @param {string} item */
export const deliveryName = (slip, item) => `spanwalk:delivery:${sameSlip(slip)}:${item}`;
