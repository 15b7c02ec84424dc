// How much of the crews' work waits for a manager: what stands beside the desk's places.

import { useLive } from '../hooks.js';

/** Numbers by the place at which they are dealt with. @typedef {{problems: number, fitted: number}} Waits */

/** A bar without numbers is better than none, where the rules have not come yet. @param {Site} site @returns {Promise<Waits>} */
const readWaits = (site) =>
  import('./waiting_work.js').then(
    ({ readWaits }) => readWaits(site),
    () => NONE,
  );

/** @param {Site | undefined} site @returns {Waits} */
export const useWaits = (site) => useLive(async () => (site ? readWaits(site) : NONE), [site?.id]) ?? NONE;

const NONE = { problems: 0, fitted: 0 };
