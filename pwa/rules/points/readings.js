// Open points of readings and of what they come to. Twin: server/spanwalk/rules/points/readings.py.

import * as constants from '../constants.js';
import { LEAST_FIXTURES, needsWitness, readOfKind } from '../fit/by_lamp.js';
import { isNever } from '../fit/not_converted.js';
import { isAccepted } from '../fit/trials.js';
import { OUT_OF_BAND } from '../measuring/reading_sense.js';
import { facet, has, markOf, pushTo } from '../survey.js';
import { ofGroup } from './found.js';

/** @typedef {import('./found.js').Seen} Seen */
/** @typedef {import('./found.js').Found} Found */

/** A reading stands alone when every other is more than 3 mm away [1/320 mm] (source: see the twin). */
const ALONE_TICKS = constants.ALONE_TICKS;
/** With fewer other readings nobody can say which one is wild (common practice). */
const OTHERS_LEAST = constants.OTHERS_LEAST;

/** Groups whose cavities are worth reading: not those of bodies that are never by this method. @param {Seen} seen */
const toRead = (seen) => seen.survey.groupsToConvert().filter((group) => !isNever(seen.survey.kindOf(group)));

/** Groups to be converted without one reading that counts. @param {Seen} seen @returns {Found[]} */
export function noReading(seen) {
  const groups = toRead(seen).filter((group) => !seen.survey.readingsOf(group).length);
  return groups.map((group) => ofGroup(seen, group));
}

/** Groups that have readings, but more are needed before anything can be said to fit. @param {Seen} seen @returns {Found[]} */
export function tooFewReadings(seen) {
  return judged(seen)
    .filter(([, told]) => told.measure_more && best(told) !== 'fits' && !heldByCluster(told))
    .filter(([group, told]) => !accepted(group, told))
    .map(([group, told]) =>
      ofGroup(seen, group, { more: told.measure_more, readings: seen.survey.readingsOf(group).length }),
    );
}

/** Groups whose readings fall into two clusters, as two makes would: split it, or read again. @param {Seen} seen @returns {Found[]} */
export function twoClusters(seen) {
  return judged(seen)
    .filter(([, told]) => heldByCluster(told))
    .map(([group, told]) => {
      const gap = told.trusted.terms?.gap_ticks;
      return ofGroup(seen, group, gap === undefined || gap === null ? {} : { gap_ticks: gap });
    });
}

/** Groups in which the best that can be had is tight, and nobody has accepted it on a trial. @param {Seen} seen @returns {Found[]} */
export function tightNotSettled(seen) {
  return judged(seen)
    .filter(([, told]) => best(told) === 'tight' && !told.measure_more && !heldByCluster(told))
    .filter(([group, told]) => !accepted(group, told))
    .map(([group, told]) =>
      ofGroup(seen, group, { clearance_ticks: told.fits[/** @type {number} */ (told.best)].clearance_ticks }),
    );
}

/**
 * Groups whose best row fits by the lamp alone, as long as too little of the kind was read and nobody tried or accepted it.
 * @param {Seen} seen @returns {Found[]}
 */
export function fitsByLamp(seen) {
  /** @type {Map<string, import('../fit/by_lamp.js').ReadOfKind>} */
  const ofKind = new Map();
  const groups = byKind(seen);
  return judged(seen).flatMap(([group, told]) => {
    const kind = facet(group, 'identity').kind;
    const read = ofKind.get(kind) ?? readOf(seen, groups.get(kind) ?? []);
    ofKind.set(kind, read);
    const fit = told.best === null || told.best === undefined ? null : told.fits[told.best];
    const facts = { fixtures: read.fixtures, wanted: LEAST_FIXTURES };
    return needsWitness(group, fit, read) ? [ofGroup(seen, group, facts)] : [];
  });
}

/** Groups to be converted by kind, put together once: a site of many kinds would else be walked for each. @param {Seen} seen */
function byKind(seen) {
  /** @type {Map<string, ViewRecord<'group'>[]>} */
  const found = new Map();
  for (const group of toRead(seen)) pushTo(found, facet(group, 'identity').kind ?? '', group);
  return found;
}

/** @param {Seen} seen @param {ViewRecord<'group'>[]} groups */
function readOf(seen, groups) {
  return readOfKind(
    groups.map((each) => [
      each,
      /** @type {ViewRecord<'kind'>} */ (seen.survey.kindOf(each)),
      seen.survey.children(each, 'cavity_reading'),
      seen.judgements[each.id]?.questions ?? {},
    ]),
  );
}

/** Readings that are not what the lamp would leave, as long as nobody has confirmed them. @param {Seen} seen @returns {Found[]} */
export function readingMatchesAnother(seen) {
  return judged(seen).flatMap(([group, told]) =>
    seen.survey.readingsOf(group).flatMap((reading) => {
      const asked = told.questions?.[reading.id] ?? [];
      const open = asked.length && !isConfirmed(reading) && !isAlone(seen, group, reading, asked);
      return open ? [ofReading(seen, group, reading, { code: asked[0].code })] : [];
    }),
  );
}

/** Readings more than 3 mm from every other of their kind, or of their group, as long as nobody has confirmed them. @param {Seen} seen @returns {Found[]} */
export function outlier(seen) {
  return toRead(seen).flatMap((group) => {
    const told = seen.judgements[group.id];
    const held = (told?.held_by ?? []).filter(({ code }) => code === 'held.alone');
    return seen.survey.readingsOf(group).flatMap((reading) => {
      const asked = told?.questions?.[reading.id] ?? [];
      const alone = !asked.length && held.some(({ facts }) => isAt(reading, facts));
      return !isConfirmed(reading) && (alone || isAlone(seen, group, reading, asked))
        ? [ofReading(seen, group, reading)]
        : [];
    });
  });
}

/** Whether a reading is of a cavity that was named by fixture, row and cavity. @param {ViewRecord<'cavity_reading'>} reading @param {Facts} place */
function isAt(reading, place) {
  const { position, row, cavity } = facet(reading, 'identity');
  return position === place.position && row === place.row && cavity === place.cavity;
}

/** Readings of a row, or of a cavity in a row, that the kind has not: they say nothing of the cavities there are. @param {Seen} seen @returns {Found[]} */
export function beyondRows(seen) {
  return toRead(seen).flatMap((group) => {
    const { rows, lamps_end_to_end: cavities = 1 } = facet(seen.survey.kindOf(group), 'lamps');
    if (rows === undefined) return [];
    return seen.survey.readingsOf(group).flatMap((reading) => {
      const { row, cavity } = facet(reading, 'identity');
      const beyond = row > rows || cavity > cavities;
      return beyond ? [ofReading(seen, group, reading, { row, cavity, rows, cavities })] : [];
    });
  });
}

/** Socket pairs whose reading was set aside: they are mended, or get a spare. @param {Seen} seen @returns {Found[]} */
export function setAside(seen) {
  return toRead(seen).flatMap((group) =>
    seen.survey
      .children(group, 'cavity_reading')
      .filter((reading) => has(reading, 'set_aside') && !has(reading, 'voided'))
      .map((reading) =>
        ofReading(seen, group, reading, { reason: facet(reading, 'set_aside').reason ?? '' }),
      ),
  );
}

/** Kinds with readings of a lot that was refused, until they are read again or a manager lets them stand. @param {Seen} seen @returns {Found[]} */
export const lotRefused = (seen) => ofKinds(seen, 'lot-refused');

/** Kinds whose repeats spread by more than was assumed, as long as nobody has said by how much. @param {Seen} seen @returns {Found[]} */
export const repeatsSpread = (seen) => ofKinds(seen, 'repeats-spread');

/** @param {Seen} seen @param {string} why @returns {Found[]} */
function ofKinds(seen, why) {
  const used = new Set(seen.survey.groupsToConvert().map((group) => facet(group, 'identity').kind));
  const held = new Map(
    seen.kindsHeld.filter((each) => each.why === why).map(({ kind, facts }) => [kind, facts]),
  );
  return seen.survey
    .ofType('kind')
    .filter(({ id }) => held.has(id) && used.has(id))
    .map((kind) => ({
      record: kind.id,
      room: undefined,
      facts: { kind: markOf(kind), ...held.get(kind.id) },
    }));
}

/**
 * Groups in which the surveyor saw another verdict, on the same readings, than the rules give here and now.
 * A reading keeps the verdict that was shown (`verdict`) and of how many readings (`n`) and trial bars (`trials`) it
 * was made; only one that was made of as many as there are now is compared.
 * @param {Seen} seen @returns {Found[]}
 */
export function verdictDiffers(seen) {
  return judged(seen).flatMap(([group, told]) => {
    const readings = seen.survey.readingsOf(group);
    const trials = seen.survey.trialsOf(group).length;
    const reading = readings.find((each) => {
      const shown = /** @type {Partial<VerdictSeen>} */ (facet(each, 'identity').verdict_seen ?? {});
      const same = shown.n === readings.length && (shown.trials ?? 0) === trials;
      return same && shown.verdict !== best(told) && !isConfirmed(each);
    });
    if (!reading) return [];
    const shown = facet(reading, 'identity').verdict_seen?.verdict;
    return [ofReading(seen, group, reading, { shown: shown ?? null, now: best(told) })];
  });
}

/** Groups that have a reading, with what the rules say of them. @param {Seen} seen @returns {[ViewRecord<'group'>, Judgement][]} */
function judged(seen) {
  /** @type {[ViewRecord<'group'>, Judgement][]} */
  const found = [];
  for (const group of toRead(seen)) {
    const told = seen.judgements[group.id];
    if (told !== undefined && seen.survey.readingsOf(group).length) found.push([group, told]);
  }
  return found;
}

/** @param {ViewRecord<'group'>} group @param {Judgement} told */
const accepted = (group, told) => isAccepted(group, told.best === null ? null : told.fits[told.best]);

/** @param {Judgement} told @returns {string} */
function best(told) {
  return told.best === null || told.best === undefined ? 'cannot tell' : told.fits[told.best].verdict;
}

/** @param {Judgement} told */
function heldByCluster(told) {
  return told.trusted?.status === 'two clusters';
}

/** @param {ViewRecord<'cavity_reading'>} reading */
function isConfirmed(reading) {
  return facet(reading, 'confirmed').answer === 'it-is-what-the-tape-shows';
}

/**
 * Whether no other reading of the kind is near; one that is another lamp's length is not wild but a question.
 * @param {Seen} seen @param {ViewRecord<'group'>} group @param {ViewRecord<'cavity_reading'>} reading @param {{code: string}[]} asked
 */
function isAlone(seen, group, reading, asked) {
  if (asked.some((question) => !OUT_OF_BAND.includes(question.code))) return false;
  const at = facet(reading, 'identity').length_ticks;
  const lengths = seen.lengths.get(facet(group, 'identity').kind) ?? [];
  const near = below(lengths, at + ALONE_TICKS + 1) - below(lengths, at - ALONE_TICKS);
  return lengths.length > OTHERS_LEAST && near === 1;
}

/** How many of ascending lengths are less than a limit. @param {number[]} lengths @param {number} limit */
function below(lengths, limit) {
  let [from, to] = [0, lengths.length];
  while (from < to) {
    const middle = (from + to) >> 1;
    if (lengths[middle] < limit) from = middle + 1;
    else to = middle;
  }
  return from;
}

/**
 * @param {Seen} seen @param {ViewRecord<'group'>} group @param {ViewRecord<'cavity_reading'>} reading @param {Facts} [facts]
 * @returns {Found}
 */
function ofReading(seen, group, reading, facts = {}) {
  const { as_entered = '', position = null } = facet(reading, 'identity');
  const kind = markOf(seen.survey.kindOf(group));
  return {
    record: reading.id,
    room: seen.survey.roomOf(group),
    facts: { kind, as_entered, position, ...facts },
  };
}
