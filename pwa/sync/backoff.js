// When to try again. Pure: chance is an argument.

export const IDLE_S = 60;
/** So soon after a save: what is typed in one go goes in one request. */
export const SOON_S = 0.5;
const FIRST_S = 2;
const LONGEST_S = 300;

/**
 * Seconds until the next try after so many failures in a row: doubled each time, up to five minutes, and spread by
 * half so that phones which lost the server together do not come back together.
 *
 * @param {number} failures from 1
 * @param {number} chance from 0 to 1
 * @param {number} [atLeastS] what the server asked for
 */
export function backOffS(failures, chance, atLeastS = 0) {
  const whole = Math.min(FIRST_S * 2 ** (failures - 1), LONGEST_S);
  return Math.max(atLeastS, whole * (0.5 + chance / 2));
}
