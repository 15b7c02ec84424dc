// What the firm's closed sites change in the judgement of a group: readings that are enough with them, and without. Twin: server/spanwalk/rules/judging/firm_effect.py.

import { believedFirm, measureMore, trustedCavity } from '../fit/cavity.js';
import { OWN_DEGREES } from './firm_numbers.js';

/** @typedef {import('../fit/cavity.js').Sample} Sample */

/**
 * What the firm's numbers change in a group; null where the site does not take them, or there are none of the kind.
 * @param {Sample} sample the group's cavities @param {number | null} neededTicks cavity that the best row of bars needs; null where there is none
 * @param {Reference['prediction']} factors prediction.json @returns {FirmEffect | null} see the twin
 */
export function firmEffect(sample, neededTicks, factors) {
  const { firm } = sample;
  if (!firm) return null;
  return {
    state: stateOf(sample, factors),
    sites: firm.sites,
    readings: firm.readings,
    readings_with: wanted(sample, neededTicks, factors),
    readings_without: wanted({ ...sample, firm: null }, neededTicks, factors),
  };
}

/**
 * What is told of it beside a verdict: on how many readings of how many sites it rests, and how much it changed.
 * @param {FirmEffect} effect @returns {Reason}
 */
export function firmSaid({ state, sites, readings, readings_with: within, readings_without: alone }) {
  if (state !== 'counts' || within === null || alone === null)
    return { code: `firm.${state}`, facts: { sites, readings } };
  if (within === alone) return { code: 'firm.counts-alike', facts: { sites, readings } };
  const facts = { sites, readings, readings_with: within, readings_without: alone };
  return { code: 'firm.counts-more', facts };
}

/** @param {Sample} sample @param {Reference['prediction']} factors */
function stateOf(sample, factors) {
  if (believedFirm(sample, 0, factors)) return 'counts';
  return believedFirm(sample, OWN_DEGREES, factors) ? 'too-few-read-here' : 'reads-otherwise';
}

/** Cavities of the group to read in all until its readings prove what is needed. @param {Sample} sample @param {number | null} neededTicks @param {Reference['prediction']} factors */
function wanted(sample, neededTicks, factors) {
  const n = sample.cavities.length;
  if (neededTicks === null || !n) return null;
  const { read_ticks: read } = trustedCavity(sample, factors);
  if (read !== null && read >= neededTicks) return n;
  const more = measureMore(sample, neededTicks, factors);
  return more === null ? null : n + more;
}
