// What fits into the fixtures of a group, by their readings? Twin: server/spanwalk/rules/judging/judging.py.

import * as constants from '../constants.js';
import { barOf, barRows, ids, inOrderOfIds, litTicks } from '../fit/bar_rows.js';
import { boughtBy, measureMore, trustedCavity } from '../fit/cavity.js';
import { unsuited, unsure } from '../fit/compatibility.js';
import { fitRow, VERDICTS } from '../fit/fit.js';
import { isNever, ledTubesUndecided, notConverted } from '../fit/not_converted.js';
import { counting, isInside, populationOf, questionsOf, readPlaces, sampleOf } from '../fit/sampling.js';
import { springBack } from '../fit/spring_back.js';
import { asGauges, trialsThatCount, withTrials } from '../fit/trials.js';
import { aMaxTicks, lampRow, looseBand } from '../measuring/reading_sense.js';
import { facet } from '../survey.js';
import { heldBy, toSettle } from './degree.js';
import { firmEffect } from './firm_effect.js';

/** @typedef {import('../fit/cavity.js').Reason} Reason */

/** Goes up when a verdict may come out otherwise than before. */
export const RULES_VERSION = constants.RULES_VERSION;
/** Rows of several bars in the list that fit, and that do not: nobody reads more. */
const [MOST_FITTING, MOST_OTHERS] = [20, 20];

/**
 * Judge every bar, and every row of bars, that could lie in the cavities of a group.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'room'>} room @param {ViewRecord<'site'>} site
 * @param {ViewRecord<'cavity_reading'>[]} readings all readings of the group that are not removed
 * @param {[ViewRecord<'group'>, ViewRecord<'kind'>, ViewRecord<'cavity_reading'>[]][] | import('../fit/cavity.js').Spread} kindReadings group, kind and readings
 *   of each other group of the kind; or their spread, pooled already
 * @param {ViewRecord<'catalogue_item'>[]} bars catalogue items with a `bar` facet
 * @param {Reference} tables reference tables: lamps, instruments, expansion, prediction
 * @param {ViewRecord<'trial_bar'>[]} [trialBars] trial bars of the group that are not removed
 * @returns {Judgement} see the twin
 */
export function judgeGroup(group, kind, room, site, readings, kindReadings, bars, tables, trialBars = []) {
  const back = springBack(kind, site, populationOf(group, kind, readings, new Set()), tables);
  const tried = trialsThatCount(trialBars, readings, back.ticks, bars).filter((each) =>
    isInside(each.place, group, kind),
  );
  const all = [...readings, ...asGauges(tried)];
  const sample = sampleOf(group, kind, site, all, kindReadings, tables);
  const trusted = trustedCavity(sample, tables.prediction);
  const [around, assumed] = surroundings(group, kind, room, site, tables);
  const cavity = trusted.terms.shortest_ticks ?? lampLength(kind, tables);
  const rows = barRows(bars, cavity);
  const read = tried.length ? readPlaces(group, kind, readings, tables) : [];
  const judgeBy = (/** @type {ViewRecord<'catalogue_item'>[]} */ row, /** @type {Trusted} */ by) => {
    const fit = {
      ...judgedRow(row, by, around, assumed, cavity, tables),
      unsuited: unsuited(row, kind, room, by.trusted_ticks ?? cavity),
      unsure: unsure(row, kind, room),
    };
    const told = tried.length
      ? withTrials(fit, row, tried, read, sample.population, Boolean(sample.asked))
      : fit;
    return { ...told, basis: basisOf(told, by) };
  };
  const judge = (/** @type {ViewRecord<'catalogue_item'>[]} */ row) => judgeBy(row, trusted);
  const firmOf = (/** @type {Fit | null} */ best) => {
    const effect = firmEffect(sample, best?.terms.needed_ticks ?? null, tables.prediction);
    if (!effect) return {};
    if (!best) return { firm: effect };
    const row = best.bars.flatMap((id) => bars.filter((each) => each.id === id));
    const without = judgeBy(row, trustedCavity({ ...sample, firm: null }, tables.prediction));
    return { firm: { ...effect, verdict_without: without.verdict } };
  };
  const settle = (/** @type {Fit} */ fit) => {
    if (fit.verdict !== 'tight' || fit.unsuited.length || isNever(kind)) return null;
    const at = tried.filter((each) => inOrderOfIds(each.bars, fit.bars) === 0).map(({ place }) => place);
    return toSettle(fit, sample, readPlaces(group, kind, readings, tables), at, tables.prediction);
  };
  const fits = [...worthShowing(rows, judge, trusted.status === 'known' || tried.length > 0)].sort(byRank);
  const questions = questionsOf(counting(readings), kind, tables);
  const canTell = fits.length > 0 && fits[0].verdict !== 'cannot tell';
  return {
    rules_version: RULES_VERSION,
    trusted,
    questions,
    fits,
    best: canTell ? 0 : null,
    ...(isNever(kind)
      ? { measure_more: null, more_buys: null }
      : moreOf(sample, trusted, fits, tables.prediction)),
    held_by: [
      ...notConverted(kind, room),
      ...ledTubesUndecided(group, kind),
      ...heldBy(group, kind, readings, questions),
    ],
    to_settle: canTell ? settle(fits[0]) : null,
    ...firmOf(canTell ? fits[0] : null),
  };
}

/**
 * Housing and range of temperature of a group, and what of it is assumed.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'room'>} room @param {ViewRecord<'site'>} site @param {Reference} tables
 * @returns {[import('../fit/fit.js').Surroundings, Reason[]]}
 */
export function surroundings(group, kind, room, site, tables) {
  const here = facet(group, 'differs').housing_material ?? 'as-the-kind';
  const material = here === 'as-the-kind' ? (facet(kind, 'housing').material ?? 'not-seen') : here;
  const said = { ...facet(site, 'settings'), ...facet(room, 'surroundings') };
  const usual = tables.expansion.assumed;
  const around = {
    material,
    coldest_c: said.coldest_c ?? usual.coldest_c,
    hottest_c: said.hottest_c ?? usual.hottest_c,
  };
  const assumed = [];
  if (said.coldest_c === undefined || said.hottest_c === undefined) {
    const { coldest_c, hottest_c } = around;
    assumed.push({ code: 'fit.temperatures-assumed', facts: { coldest_c, hottest_c } });
  }
  if (['not-seen', 'other', 'plastic'].includes(material)) {
    assumed.push({ code: 'fit.material-not-named', facts: { material } });
  }
  return [around, assumed];
}

/**
 * What a 'fits' rests on: 'all' cavities read, a 'sample', the 'lamp' alone, or a 'trial'; null for any other verdict.
 * The lamp alone where the readings by themselves do not prove enough for this row.
 * @param {RowVerdict} fit @param {Trusted} trusted @returns {string | null}
 */
export function basisOf(fit, trusted) {
  if (fit.verdict !== 'fits') return null;
  if (trusted.status !== 'known' || /** @type {number} */ (fit.clearance_ticks) < 0) return 'trial';
  const read = trusted.read_ticks;
  return read !== null && read >= fit.terms.needed_ticks ? trusted.read_basis : trusted.basis;
}

/**
 * Bars by themselves; of rows of several, most lit first, enough that fit and some that do not.
 * @param {ViewRecord<'catalogue_item'>[][]} rows @param {(row: ViewRecord<'catalogue_item'>[]) => Fit} judge @param {boolean} mayFit the cavity is known, or a bar was tried
 */
function* worthShowing(rows, judge, mayFit) {
  let [fitting, others] = [0, 0];
  for (const row of rows) {
    const fit = judge(row);
    if (fit.bars.length === 1) {
      yield fit;
    } else if (fit.verdict === 'fits') {
      yield fit;
      fitting += 1;
    } else {
      others += 1;
      if (others <= MOST_OTHERS) yield fit;
    }
    if (fitting === MOST_FITTING || (others === MOST_OTHERS && !mayFit)) return;
  }
}

/**
 * One row of bars with its verdict.
 * @param {ViewRecord<'catalogue_item'>[]} row @param {Trusted} trusted @param {import('../fit/fit.js').Surroundings} around
 * @param {Reason[]} assumed @param {number | null} cavityTicks @param {Reference} tables @returns {Omit<Fit, 'unsuited' | 'unsure' | 'basis'>}
 */
function judgedRow(row, trusted, around, assumed, cavityTicks, tables) {
  const verdict = fitRow(trusted, row.map(barOf), around, tables.expansion);
  const lit = litTicks(row);
  return {
    ...verdict,
    bars: ids(row),
    lit_ticks: lit,
    dark_ticks: cavityTicks === null ? null : Math.max(cavityTicks - lit, 0),
    reasons: [...verdict.reasons, ...assumed],
  };
}

/**
 * Best first: what suits; verdict; of those too long the least so, of others the most lit; few bars; room to spare.
 * @param {Fit} a @param {Fit} b @returns {number}
 */
function byRank(a, b) {
  const first = (/** @type {Fit} */ fit) =>
    fit.verdict === 'too long' ? -(fit.terms.nominal_clearance_ticks ?? 0) : -fit.lit_ticks;
  return (
    Number(a.unsuited.length > 0) - Number(b.unsuited.length > 0) ||
    VERDICTS.indexOf(a.verdict) - VERDICTS.indexOf(b.verdict) ||
    first(a) - first(b) ||
    a.bars.length - b.bars.length ||
    (b.clearance_ticks ?? 0) - (a.clearance_ticks ?? 0) ||
    inOrderOfIds(a.bars, b.bars)
  );
}

/** Length of the lamp that is said to be in it [1/320 mm]; the length on its box where that does not give the gap. @param {ViewRecord<'kind'>} kind @param {Reference} tables @returns {number | null} */
function lampLength(kind, tables) {
  const lamps = facet(kind, 'lamps');
  const row = lampRow(lamps, tables);
  if (row) return aMaxTicks(row);
  const band = looseBand(lamps, tables);
  return band && Math.floor((band.low_ticks + band.high_ticks) / 2);
}

/**
 * Further cavities to read until the most promising row fits, and what that buys; null where one fits, or reading does
 * not help.
 * @param {import('../fit/cavity.js').Sample} sample @param {Trusted} trusted @param {Fit[]} fits
 * @param {Reference['prediction']} factors prediction.json @returns {{measure_more: number | null, more_buys: MoreBuys | null}}
 */
function moreOf(sample, trusted, fits, factors) {
  const [more, bars] = promising(sample, trusted, fits, factors);
  return {
    measure_more: more,
    more_buys: more === null ? null : { ...boughtBy(sample, more, factors), bars },
  };
}

/**
 * @param {import('../fit/cavity.js').Sample} sample @param {Trusted} trusted @param {Fit[]} fits
 * @param {Reference['prediction']} factors @returns {[number | null, string[]]}
 */
function promising(sample, trusted, fits, factors) {
  const held = trusted.status === 'two clusters' || Boolean(sample.asked);
  if (held || fits.some((fit) => fit.verdict === 'fits' && !fit.unsuited.length)) return [null, []];
  if (!sample.cavities.length) return [measureMore(sample, 0, factors), []];
  for (const fit of fits) {
    const no = fit.verdict === 'too long' || fit.unsuited.length > 0;
    const more = no ? null : measureMore(sample, fit.terms.needed_ticks, factors);
    if (more !== null) return [more, fit.bars];
  }
  return [null, []];
}
