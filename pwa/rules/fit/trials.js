// What does a trial bar prove: a row of bars from the catalogue, put into one cavity by hand? Twin: server/spanwalk/rules/fit/trials.py.

import * as constants from '../constants.js';
import { facet, has, inOrder } from '../survey.js';
import { barOf, ids, inOrderOfIds, nominalTicks } from './bar_rows.js';
import { couldBeShorter } from './prediction.js';
import { inOrderOfPlace, keyOf, placeOf } from './sampling.js';

/** @typedef {import('./sampling.js').Place} Place */
/**
 * One trial that counts: see the twin.
 *
 * @typedef {{place: Place, bars: string[], wentIn: boolean, nominalTicks: number, leastTicks: number, mostTicks: number}} Trial
 */

const WENT_IN = constants.WENT_IN;
/** What a gap is trusted by, held against a rule: 1 mm (common practice, no source). */
const GAP_READ_TICKS = constants.GAP_READ_TICKS;
const WITH_THIS = constants.WITH_THIS;

/**
 * Trials of a group, by id: neither voided, nor in a cavity that was set aside, nor of a bar that is no longer known.
 * @param {ViewRecord<'trial_bar'>[]} records `trial_bar` records of the group that are not removed @param {ViewRecord<'cavity_reading'>[]} readings
 * @param {number} backTicks how far the holders yield @param {ViewRecord<'catalogue_item'>[]} items with a `bar` facet @returns {Trial[]}
 */
export function trialsThatCount(records, readings, backTicks, items) {
  const out = readings.filter((each) => has(each, 'set_aside') && !has(each, 'voided'));
  const aside = new Set(out.map((each) => keyOf(placeOf(each))));
  const byId = new Map(items.map((item) => [item.id, item]));
  return records
    .filter((each) => !has(each, 'voided') && !aside.has(keyOf(placeOf(each))))
    .sort((a, b) => inOrder(a.id, b.id))
    .flatMap((each) => trialOf(each, byId, backTicks) ?? []);
}

/** @param {ViewRecord<'trial_bar'>} record @param {Map<string, ViewRecord<'catalogue_item'>>} byId @param {number} backTicks @returns {Trial | null} */
function trialOf(record, byId, backTicks) {
  const said = facet(record, 'identity');
  const wanted = [
    ...Array(said.number ?? 1).fill(said.bar),
    ...Array(said.then_bar === undefined ? 0 : (said.then_number ?? 1)).fill(said.then_bar),
  ];
  const row = wanted.flatMap((each) => byId.get(each) ?? []);
  if (row.length < wanted.length) return null;
  const length = nominalTicks(row);
  const tolerance = row.reduce((total, item) => total + barOf(item).tolerance_ticks, 0);
  const gap = said.gap_ticks ?? 0;
  const room = gap > 0 ? Math.max(gap - GAP_READ_TICKS, 0) : -backTicks;
  return {
    place: placeOf(record),
    bars: ids(row),
    wentIn: said.went_in === WENT_IN,
    nominalTicks: length,
    leastTicks: length - tolerance + room,
    mostTicks: length + tolerance,
  };
}

/**
 * Trials as the readings of a gauge: what went in proves its least length, what did not stops at its greatest.
 * @param {Trial[]} trials @returns {ViewRecord<'cavity_reading'>[]}
 */
export function asGauges(trials) {
  // As much of a reading as is looked at here: nobody entered it.
  const asRead = trials.map(({ place: [position, row, cavity], wentIn, leastTicks, mostTicks }, at) => ({
    id: `trial-${String(at).padStart(4, '0')}`,
    type: 'cavity_reading',
    parent: null,
    removed: false,
    facets: {
      identity: {
        position,
        row,
        cavity,
        length_ticks: wentIn ? leastTicks : mostTicks,
        instrument: wentIn ? 'gauge-goes' : 'gauge-does-not-go',
      },
    },
    conflicts: [],
  }));
  return /** @type {ViewRecord<'cavity_reading'>[]} */ (/** @type {unknown[]} */ (asRead));
}

/** @typedef {Omit<Fit, 'basis'>} Judged a row of bars before it is said what its verdict rests on */
/**
 * A verdict with what trials say of it.
 * @param {Judged} fit what `fitRow` gives for the row @param {ViewRecord<'catalogue_item'>[]} row its bars
 * @param {Trial[]} trials those of the group's own cavities that count
 * @param {[Place, number][]} read trusted length of each cavity that was read with a tape, by place
 * @param {number | null} population cavities of the group
 * @param {boolean} [asked] whether a reading of the group waits for a confirmation: then nothing settles it yet
 * @returns {Judged & {trial?: TrialTold, refused?: boolean}} see the twin
 */
export function withTrials(fit, row, trials, read, population, asked = false) {
  const [refused] = trials
    .filter((each) => !each.wentIn && each.nominalTicks <= nominalTicks(row))
    .sort((a, b) => inOrderOfPlace(a.place, b.place));
  if (refused) {
    const reasons = [{ code: 'fit.trial-refused', facts: whereOf(refused.place) }];
    return { ...fit, verdict: 'too long', reasons, refused: true };
  }
  const own = trials.filter((each) => inOrderOfIds(each.bars, ids(row)) === 0);
  if (!own.length) return fit;
  const trial = toldOf(fit.terms, own, read, population);
  if (asked) return { ...fit, trial: { ...trial, settles: false } };
  const open = ['tight', 'cannot tell'].includes(fit.verdict) && fit.clearance_ticks !== null;
  return {
    ...fit,
    verdict: open && trial.settles ? 'fits' : fit.verdict,
    reasons: [...fit.reasons, reasonOf(trial)],
    trial,
  };
}

/** What the trials come to, as a code and facts. @param {TrialTold} trial */
function reasonOf({ tried, left, could_refuse: d, close, next, settles }) {
  const facts = { tried, left, d, close };
  if (settles) return { code: 'fit.trial-settles', facts };
  if (next) return { code: 'fit.trial-next', facts: { ...facts, ...whereOf(next) } };
  if (d === null) return { code: 'fit.trial-uncounted', facts };
  return { code: close ? 'fit.trial-close' : 'fit.trial-goes', facts };
}

/** @param {Place} place */
const whereOf = ([position, row, cavity]) => ({ position, row, cavity });

/**
 * What trials of one row of bars come to.
 * @param {Record<string, number>} terms @param {Trial[]} own @param {[Place, number][]} read @param {number | null} population
 */
function toldOf(terms, own, read, population) {
  const snug = terms.needed_ticks - terms.end_gaps_ticks;
  const tried = new Set(own.map((each) => keyOf(each.place)));
  const roomy = new Set(own.filter((each) => each.leastTicks >= snug).map((each) => keyOf(each.place)));
  const enough = read.filter(([, ticks]) => ticks >= terms.needed_ticks).map(([place]) => keyOf(place));
  const longEnough = new Set(enough);
  const short = read
    .filter(([place]) => !tried.has(keyOf(place)) && !longEnough.has(keyOf(place)))
    .sort((a, b) => a[1] - b[1] || inOrderOfPlace(a[0], b[0]));
  const goes = new Set([...tried, ...longEnough]).size;
  const close = [...tried].filter((each) => !roomy.has(each) && !longEnough.has(each)).length;
  const refuse =
    short.length || population === null ? null : couldBeShorter(population, Math.min(goes, population));
  return {
    tried: tried.size,
    left: population === null ? null : Math.max(population - goes, 0),
    could_refuse: refuse,
    close,
    next: short.length ? short[0][0] : null,
    settles: refuse === 0 && close === 0,
  };
}

/**
 * Whether a manager has accepted a tight row of bars on its trial: decided for an arrangement, with a reason.
 * @param {ViewRecord<'group'>} group @param {Fit | null} fit
 */
export function isAccepted(group, fit) {
  const { decision, accepts_trial: accepts, reason } = facet(group, 'decision');
  const decided = decision === WITH_THIS && accepts === true && Boolean(reason);
  return decided && Boolean(fit?.trial) && fit?.trial?.could_refuse !== null;
}
