// Which money settings lack the one beside them, without which they are not counted?

/** What has containers of its own. */
export const CONTAINERS = ['short_lamp', 'long_lamp', 'other_lamp', 'ballast', 'pcb_ballast'];

const TRAVEL = ['travel_h_per_day', 'travel_per_day'];

/**
 * Fields that are empty though another needs them, each with what is to be said of it.
 *
 * @param {Record<string, unknown>} money
 * @returns {Record<string, {code: string, facts: Facts}>}
 */
export function enteredInPart(money) {
  const has = (/** @type {string} */ name) => money[name] !== undefined;
  const missing = [];
  if (TRAVEL.some((name) => money[name]))
    missing.push(...['crew_people', 'crew_day_h'].filter((name) => !has(name)));
  for (const name of CONTAINERS) {
    const both = [`${name}_container_each`, `${name}_container_holds`];
    if (both.some(has)) missing.push(...both.filter((each) => !has(each)));
  }
  if (money.tax_pct && !has('tax_on')) missing.push('tax_on');
  return Object.fromEntries(missing.map((name) => [name, { code: 'money.not-counted-without', facts: {} }]));
}
