// Which mains does a fixture hang on, and can its lamps' watts be told without the etch? Twin: server/spanwalk/rules/gear/mains.py.

import * as constants from '../constants.js';

const NOT_SEEN = constants.NOT_SEEN;
const VOLTS_60 = constants.VOLTS_60_HZ;
const VOLTS_50 = constants.VOLTS_50_HZ;
/** @type {Record<string, 50 | 60>} */
const REGIONS = { 'united-states-or-canada': 60, 'european-union-or-uk': 50 };
const NO_GEAR = [NOT_SEEN, 'none'];

/**
 * The mains a group hangs on [Hz]: by its supply, else its ballast's label, else the site's region, else its usual
 * supply; undefined where nobody has seen enough to tell.
 * @param {{volts?: string}} supply @param {{volts_mark?: string}} ballast
 * @param {{region?: string, supply_volts?: string}} settings @returns {50 | 60 | undefined}
 */
export function mainsHz(supply, ballast, settings) {
  return (
    ofVolts(supply.volts) ??
    ofVolts(ballast.volts_mark) ??
    REGIONS[settings.region ?? ''] ??
    ofVolts(settings.supply_volts)
  );
}

/**
 * Why the watts of lamps whose etch nobody read cannot be taken; undefined where they were read, or leave little doubt.
 * @param {{lamp_w?: number, fitted?: string, diameter?: string}} lamps @param {string} ballast
 * @param {50 | 60 | undefined} hertz @returns {string | undefined}
 */
export function lampWattsDoubt(lamps, ballast, hertz) {
  if (lamps.lamp_w !== undefined || ![NOT_SEEN, 'fluorescent'].includes(lamps.fitted ?? NOT_SEEN))
    return undefined;
  if (lamps.diameter === 'T5') return 'two-outputs';
  if (hertz === undefined) return 'supply-not-seen';
  if (NO_GEAR.includes(ballast)) return 'gear-not-seen';
  return lamps.diameter === 'T8' && ballast === 'magnetic' && hertz === 60 ? 'gear-unusual' : undefined;
}

/** @param {string | undefined} volts @returns {50 | 60 | undefined} */
function ofVolts(volts) {
  if (volts === undefined) return undefined;
  if (VOLTS_60.includes(volts)) return 60;
  return VOLTS_50.includes(volts) ? 50 : undefined;
}
