// How sure is what is said of a group: the degree of its verdict, and what holds it back? Twin: server/spanwalk/rules/judging/degree.py.

import * as constants from '../constants.js';
import { isByLamp, LEAST_FIXTURES, needsWitness } from '../fit/by_lamp.js';
import { byGauge, measureMore } from '../fit/cavity.js';
import { NEVER } from '../fit/not_converted.js';
import { counting, inOrderOfPlace, isConfirmed, isGauge, isInside, keyOf, placeOf } from '../fit/sampling.js';
import { facet, pushTo } from '../survey.js';

/** @typedef {import('../fit/sampling.js').Place} Place */
/** @typedef {import('../fit/by_lamp.js').ReadOfKind} ReadOfKind */

/** From the best to the worst. */
export const DEGREES = constants.DEGREES;
/** Cavities read from which a stronger step than one more reading is offered: two give a spread (common practice). */
const NEXT_STEP_FROM = constants.NEXT_STEP_FROM;
/** A sound socket pair has 0 to 3 mm of play: cavities further apart want a second look [1/320 mm]. */
const ALONE_TICKS = constants.ALONE_TICKS;
/** 95 % one-sided: what is left is one in twenty. */
const ONE_IN = constants.ONE_IN;

/**
 * What in the readings holds back a 'fits', whichever bar it is: see the twin.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'cavity_reading'>[]} readings all of the group that are not removed
 * @param {Record<string, Reason[]>} questions by reading id @returns {Reason[]}
 */
export function heldBy(group, kind, readings, questions) {
  return [...unanswered(readings, questions), ...alone(group, kind, readings)];
}

/** Readings with a question that nobody has answered. @param {ViewRecord<'cavity_reading'>[]} readings @param {Record<string, Reason[]>} questions @returns {Reason[]} */
function unanswered(readings, questions) {
  const asked = counting(readings)
    .filter((each) => each.id in questions && !isConfirmed(each))
    .map(placeOf)
    .sort(inOrderOfPlace);
  if (!asked.length) return [];
  const [position, row, cavity] = asked[0];
  return [{ code: 'held.question', facts: { n: asked.length, position, row, cavity } }];
}

/**
 * The shortest cavity that stands alone; one that was confirmed, or read twice, is what it is.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'cavity_reading'>[]} readings @returns {Reason[]}
 */
function alone(group, kind, readings) {
  /** @type {Map<string, ViewRecord<'cavity_reading'>[]>} */
  const found = new Map();
  for (const each of counting(readings)) {
    if (!isGauge(each) && isInside(placeOf(each), group, kind)) pushTo(found, keyOf(placeOf(each)), each);
  }
  const cavities = [...found.values()].map((own) => ({ own, place: placeOf(own[0]), ticks: meanTicks(own) }));
  const doubtful = cavities
    .filter(({ own }) => own.length === 1 && !isConfirmed(own[0]))
    .sort((a, b) => a.ticks - b.ticks || inOrderOfPlace(a.place, b.place));
  for (const each of doubtful) {
    const others = cavities.filter((other) => other !== each);
    const apart = others.length ? Math.min(...others.map(({ ticks }) => Math.abs(each.ticks - ticks))) : 0;
    if (apart <= ALONE_TICKS) continue;
    const [position, row, cavity] = each.place;
    const facts = { position, row, cavity, length_ticks: each.ticks, apart_ticks: apart };
    return [{ code: 'held.alone', facts }];
  }
  return [];
}

/** @param {ViewRecord<'cavity_reading'>[]} readings */
const meanTicks = (readings) =>
  Math.floor(
    readings.reduce((total, each) => total + facet(each, 'identity').length_ticks, 0) / readings.length,
  );

/**
 * What it would take to settle a row of bars that is tight, by tape, by a go gauge and by trial bars: see the twin.
 * @param {Fit} fit @param {import('../fit/cavity.js').Sample} sample @param {[Place, number][]} read trusted length of each cavity that a tape has read
 * @param {Place[]} tried places in which this row was tried @param {Reference['prediction']} factors prediction.json @returns {ToSettle}
 */
export function toSettle(fit, sample, read, tried, factors) {
  const needed = fit.terms.needed_ticks;
  return {
    by_tape: measureMore(sample, needed, factors),
    by_gauge: byGauge(sample, needed, factors),
    by_trial: byTrial(sample.population, read, needed, tried),
    needed_ticks: needed,
  };
}

/**
 * Cavities to try until none of the others could refuse; those that read too short are among them. One short cavity of N
 * is missed by t blind trials with probability (N - t) / N: no more than one in twenty from N - N/20 on.
 * @param {number | null} population @param {[Place, number][]} read @param {number} neededTicks @param {Place[]} tried
 */
function byTrial(population, read, neededTicks, tried) {
  if (population === null) return null;
  const wentIn = new Set(tried.map(keyOf));
  const longEnough = new Set(read.filter(([, ticks]) => ticks >= neededTicks).map(([place]) => keyOf(place)));
  const short = read.filter(([place]) => !wentIn.has(keyOf(place)) && !longEnough.has(keyOf(place))).length;
  const goes = Math.min(new Set([...wentIn, ...longEnough]).size, population);
  return Math.max(population - Math.floor(population / ONE_IN) - goes, short, 0);
}

/**
 * How sure the verdict on the best row of bars of a group is: see the twin.
 * @param {ViewRecord<'group'>} group @param {Judgement} told what `judgeGroup` says of it @param {ReadOfKind} read what was read of its kind
 * @returns {Degree}
 */
export function degreeOf(group, told, read) {
  const fit = told.best === null ? null : told.fits[told.best];
  const wants = needsWitness(group, fit, read);
  const held = heldOf(told, fit, wants ? { fixtures: read.fixtures, wanted: LEAST_FIXTURES } : null);
  const degree = codeOf(fit, held);
  return {
    degree,
    releasable: DEGREES.indexOf(degree) < DEGREES.indexOf('so-far'),
    held_by: held,
    n: told.trusted.n,
    of: told.trusted.population,
    next: nextOf(told, degree, wants ? read : null),
  };
}

/** What stands against converting a body at all: see `not_converted`. @param {Reason} reason */
const isNotByMethod = ({ code }) => code.startsWith('plan.not.');

/** Everything that stands between the verdict and a release; that it is not by this method is said whatever was read. @param {Judgement} told @param {Fit | null} fit @param {Record<string, number> | null} wanted @returns {Reason[]} */
function heldOf(told, fit, wanted) {
  const against = told.held_by.filter(isNotByMethod);
  const never = against.filter(({ code }) => NEVER.includes(code));
  if (never.length) return never;
  if (!fit) return [...against, ...told.trusted.reasons];
  if (fit.unsuited.length) return [...against, ...fit.unsuited];
  return [...told.held_by, ...fit.unsure, ...(wanted ? [{ code: 'held.witness', facts: wanted }] : [])];
}

/** @param {Fit | null} fit @param {Reason[]} held @returns {string} */
function codeOf(fit, held) {
  if (held.some(({ code }) => NEVER.includes(code))) return 'never';
  if (!fit) return 'cannot-tell';
  if (fit.verdict === 'too long') return 'too-long';
  if (fit.unsuited.length) return 'cannot-tell';
  if (fit.verdict !== 'fits') return fit.verdict.replace(' ', '-');
  if (held.length) return 'so-far';
  if (fit.basis === 'trial' || (fit.trial?.tried ?? 0) > 0) return 'by-trial';
  return isByLamp(fit) ? 'by-lamp' : 'fits';
}

/**
 * The strongest next step: for a tight row from the second reading on, for a fit by the lamp while it wants a witness.
 * @param {Judgement} told @param {string} degree @param {ReadOfKind | null} witness @returns {NextStep | null}
 */
function nextOf(told, degree, witness) {
  if (told.best === null || told.held_by.some(isNotByMethod)) return null;
  const { bars, terms } = told.fits[told.best];
  const settle = told.to_settle;
  if (degree === 'tight' && settle && told.trusted.n >= NEXT_STEP_FROM)
    return { bars, by_lamp: false, ...settle };
  if (degree !== 'so-far' || !witness) return null;
  const ways = { by_tape: moreOf(witness), by_gauge: null, by_trial: 1, needed_ticks: terms.needed_ticks };
  return { bars, by_lamp: true, ...ways };
}

/** Fixtures of the kind to read until a fit by the lamp has its witnesses; every cavity that is left where those are fewer. @param {ReadOfKind} read */
function moreOf({ fixtures, cavities, population }) {
  const more = LEAST_FIXTURES - fixtures;
  return population === null ? more : Math.min(more, Math.max(population - cavities, 1));
}
