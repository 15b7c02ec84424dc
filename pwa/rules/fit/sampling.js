// From the records of a group and its kind to what is known of its cavities. Twin: server/spanwalk/rules/fit/sampling.py.

import { spreadFor } from '../judging/firm_numbers.js';
import { oneSided95, readingUncertainty } from '../measuring/instruments.js';
import { aMinTicks, isLong, lampRow, questions } from '../measuring/reading_sense.js';
import { facet, has, inOrder, isPosition } from '../survey.js';
import { joined, pooled, spreadOf } from './cavity.js';
import { isSprung, springBack } from './spring_back.js';

/** @typedef {import('./cavity.js').Cavity} Cavity */
/** @typedef {import('./cavity.js').Reason} Reason */
/** @typedef {import('./cavity.js').Spread} Spread */
/** @typedef {[number, number, number]} Place */

/** @param {ViewRecord<'cavity_reading'>} reading @returns {string} */
const instrumentOf = (reading) => facet(reading, 'identity').instrument ?? '';
/** Whether a reading is a gauge's, which went in or not, and no length. @param {ViewRecord<'cavity_reading'>} reading */
export const isGauge = (reading) => instrumentOf(reading).startsWith('gauge');
/** @param {ViewRecord<'cavity_reading'>} reading */
const answerOf = (reading) => facet(reading, 'confirmed').answer;
/** Whether somebody confirmed a reading as it stands. @param {ViewRecord<'cavity_reading'>} reading */
export const isConfirmed = (reading) => answerOf(reading) === 'it-is-what-the-tape-shows';
/** Lamps end to end; one where nobody said. @param {ViewRecord<'kind'>} kind @returns {number} */
const endToEnd = (kind) => facet(kind, 'lamps').lamps_end_to_end ?? 1;
/** Spread of one reading that second readings showed, one standard deviation [1/320 mm]; 0 where nobody said one. @param {ViewRecord<'kind'>} kind */
const repeatsTicks = (kind) => facet(kind, 'repeats').spread_ticks ?? 0;
/** @param {Place} place */
export const keyOf = (place) => place.join('.');

/** Fixture, row and cavity of a reading or a trial. @param {ViewRecord<'cavity_reading'> | ViewRecord<'trial_bar'>} reading @returns {Place} */
export function placeOf(reading) {
  const identity = facet(reading, 'identity');
  return [identity.position, identity.row, identity.cavity];
}

/** @param {Place} a @param {Place} b */
export const inOrderOfPlace = (a, b) => a[0] - b[0] || a[1] - b[1] || a[2] - b[2];

/**
 * Questions about the tape readings that count, by reading id; readings without a question are left out.
 * @param {ViewRecord<'cavity_reading'>[]} readings @param {ViewRecord<'kind'>} kind @param {Reference} tables @returns {Record<string, Reason[]>}
 */
export function questionsOf(readings, kind, tables) {
  const lamps = facet(kind, 'lamps');
  /** @type {Record<string, Reason[]>} */
  const found = {};
  for (const reading of readings.filter((each) => !isGauge(each))) {
    const identity = facet(reading, 'identity');
    const asked = questions(
      identity.length_ticks,
      lamps,
      readingUncertainty(identity, tables).expanded_ticks,
      tables,
    );
    if (asked.length) found[reading.id] = asked;
  }
  return found;
}

/** Readings that count, by id: neither voided, set aside nor read wrong. @param {ViewRecord<'cavity_reading'>[]} readings */
export function counting(readings) {
  return readings
    .filter(
      (each) => !(has(each, 'voided') || has(each, 'set_aside') || answerOf(each) === 'it-was-read-wrong'),
    )
    .sort((a, b) => inOrder(a.id, b.id));
}

/**
 * What is known of the cavities of a group; readings that wait for a confirmation are none of it, but counted.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'site'>} site
 * @param {ViewRecord<'cavity_reading'>[]} readings all readings of the group that are not removed
 * @param {[ViewRecord<'group'>, ViewRecord<'kind'>, ViewRecord<'cavity_reading'>[]][] | Spread} kindReadings group, kind and readings of each other group of
 *   the kind; or their spread, pooled already
 * @param {Reference} tables reference tables
 * @returns {import('./cavity.js').Sample}
 */
export function sampleOf(group, kind, site, readings, kindReadings, tables) {
  const [kept, held] = keptAndHeld(readings, kind, tables);
  const taped = cavitiesOf(
    group,
    kind,
    kept.filter((each) => !isGauge(each)),
    tables,
  );
  const known = new Set(taped.map(([place]) => keyOf(place)));
  const gauges = kept.filter((each) => isGauge(each) && !known.has(keyOf(placeOf(each))));
  const stopped = gauges.filter((each) => instrumentOf(each) === 'gauge-does-not-go');
  const population = populationOf(group, kind, readings, known);
  const back = springBack(kind, site, population, tables);
  const lampTicks = lampGauge(kind, back, tables);
  return {
    cavities: taped.map(([, cavity]) => cavity),
    population,
    elsewhere: elsewhereOf(kindReadings, tables),
    spread_floor_ticks: Math.max(facet(site, 'settings').spread_floor_ticks ?? 0, repeatsTicks(kind)),
    lamp_ticks: lampTicks,
    spring_back: lampTicks === null ? null : back,
    asked: held.length,
    alike: facet(kind, 'identity').alike ?? 'not-sure',
    gauged_ticks: proved(gauges, group, kind, tables),
    stopped_ticks: stopped.map((each) => facet(each, 'identity').length_ticks),
    firm: spreadFor(kind, site),
  };
}

/**
 * Readings that count, and long ones that wait for a confirmation.
 * @param {ViewRecord<'cavity_reading'>[]} readings @param {ViewRecord<'kind'>} kind @param {Reference} tables @returns {[ViewRecord<'cavity_reading'>[], ViewRecord<'cavity_reading'>[]]}
 */
function keptAndHeld(readings, kind, tables) {
  const used = counting(readings);
  const asked = questionsOf(used, kind, tables);
  const isOff = (/** @type {ViewRecord<'cavity_reading'>} */ each) =>
    isLong(facet(each, 'identity').length_ticks, facet(kind, 'lamps'), tables);
  const held = used.filter((each) => each.id in asked && !isConfirmed(each) && isOff(each));
  return [used.filter((each) => !held.includes(each)), held];
}

/**
 * Trusted length of each counted cavity that a tape has read: its length less its uncertainty.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'cavity_reading'>[]} readings @param {Reference} tables
 * @returns {[Place, number][]}
 */
export function readPlaces(group, kind, readings, tables) {
  const [kept] = keptAndHeld(readings, kind, tables);
  const taped = kept.filter((each) => !isGauge(each));
  return cavitiesOf(group, kind, taped, tables)
    .filter(([, cavity]) => cavity.inside)
    .map(([place, cavity]) => [place, cavity.length_ticks - cavity.expanded_ticks]);
}

/**
 * Different cavities that a tape has read, each with its place.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'cavity_reading'>[]} readings @param {Reference} tables
 * @returns {[Place, Cavity][]}
 */
function cavitiesOf(group, kind, readings, tables) {
  /** @type {Map<string, {place: Place, entries: [number, number, number, number][]}>} */
  const ofPlace = new Map();
  const byRepeats = oneSided95(repeatsTicks(kind));
  for (const reading of readings) {
    const identity = facet(reading, 'identity');
    const wrong = readingUncertainty(identity, tables);
    const place = placeOf(reading);
    const at = ofPlace.get(keyOf(place)) ?? { place, entries: [] };
    at.entries.push([
      identity.length_ticks,
      wrong.systematic_ticks,
      Math.max(wrong.random_ticks, byRepeats),
      wrong.graduation_ticks,
    ]);
    ofPlace.set(keyOf(place), at);
  }
  return [...ofPlace.values()].map(({ place, entries }) => [
    place,
    joined(entries, isInside(place, group, kind)),
  ]);
}

/** @param {[ViewRecord<'group'>, ViewRecord<'kind'>, ViewRecord<'cavity_reading'>[]][] | Spread} kindReadings @param {Reference} tables @returns {Spread} */
function elsewhereOf(kindReadings, tables) {
  if (!Array.isArray(kindReadings)) return kindReadings;
  return pooled(kindReadings.map((other) => spreadOfGroup(...other, tables)));
}

/**
 * Spread within one group; readings in question tell nothing of it until they are confirmed.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'cavity_reading'>[]} readings @param {Reference} tables
 */
export function spreadOfGroup(group, kind, readings, tables) {
  const used = counting(readings);
  const asked = questionsOf(used, kind, tables);
  const kept = used.filter((each) => !isGauge(each) && (!(each.id in asked) || isConfirmed(each)));
  return spreadOf(cavitiesOf(group, kind, kept, tables).map(([, cavity]) => cavity.length_ticks));
}

/**
 * Cavities of a group: fixtures × rows × lamps end to end, less those set aside; null where one of them was not said.
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {ViewRecord<'cavity_reading'>[]} readings @param {Set<string>} known
 */
export function populationOf(group, kind, readings, known) {
  const count = facet(group, 'count').count;
  const { rows, lamps_end_to_end: inARow } = facet(kind, 'lamps');
  if (count === undefined || rows === undefined || inARow === undefined) return null;
  const aside = readings.filter((each) => has(each, 'set_aside') && !has(each, 'voided')).map(placeOf);
  const gone = aside.filter((place) => !known.has(keyOf(place)) && isInside(place, group, kind));
  return count * rows * inARow - new Set(gone.map(keyOf)).size;
}

/**
 * Cavity that a fluorescent lamp sitting in rigid sockets proves [1/320 mm]: the shortest lamp less the spring-back.
 * @param {ViewRecord<'kind'>} kind @param {import('./spring_back.js').SpringBack} back @param {Reference} tables
 */
function lampGauge(kind, back, tables) {
  const lamps = facet(kind, 'lamps');
  const isGaugeHere =
    lamps.fitted === 'fluorescent' && ['G5', 'G13'].includes(lamps.cap ?? '') && !isSprung(kind);
  const row = isGaugeHere ? lampRow(lamps, tables) : null;
  return row ? aMinTicks(row) - back.ticks : null;
}

/**
 * Lengths that a go gauge proved, one for each cavity counted, less the gauge's own error.
 * @param {ViewRecord<'cavity_reading'>[]} gauges @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind @param {Reference} tables
 */
function proved(gauges, group, kind, tables) {
  /** @type {Map<string, number>} */
  const best = new Map();
  for (const reading of gauges) {
    const [identity, place] = [facet(reading, 'identity'), placeOf(reading)];
    if (identity.instrument !== 'gauge-goes' || !isInside(place, group, kind)) continue;
    const length = identity.length_ticks - readingUncertainty(identity, tables).expanded_ticks;
    best.set(keyOf(place), Math.max(length, best.get(keyOf(place)) ?? 0));
  }
  return [...best.values()];
}

/** Whether a cavity is one of those counted. @param {Place} place @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'>} kind */
export function isInside([position, row, cavity], group, kind) {
  return isPosition(group, position) && row <= (facet(kind, 'lamps').rows ?? 0) && cavity <= endToEnd(kind);
}
