// What does a site still lack before it can be surveyed, planned and released, and why does each matter?

/**
 * @typedef {object} SetUp what of a site's records the steps look at
 * @property {number} floors
 * @property {number} rooms
 * @property {ViewRecord<'catalogue_item'>[]} items
 * @property {ViewRecord<'price'>[]} prices
 * @property {ViewRecord<'money'> | undefined} money
 * @property {ViewRecord<'site'> | undefined} own the site's own record
 * @property {number} people on the site now
 * @property {Record<string, string>} titles of the fields of money and settings
 *
 * @typedef {object} Step
 * @property {string} id
 * @property {string} path below the site's address
 * @property {Reason | null} missing what is still missing; null: nothing
 * @property {boolean} needed whether a site is not set up without it
 */

/** Without these no plan has a sum; the same as the server's `terms_of`, and the currency. */
export const MONEY_NEEDED = ['currency', 'tariff_per_kwh', 'labour_per_h', 'discount_pct', 'study_years'];
/** Without these fit is judged at one temperature. */
export const SETTINGS_NEEDED = ['coldest_c', 'hottest_c'];

/** @param {SetUp} found @returns {Step[]} in the order in which they help */
export function stepsOf(found) {
  return [
    { id: 'catalogue', path: '/desk/catalogue', missing: catalogueLacks(found), needed: true },
    { id: 'rooms', path: found.floors > 0 ? '' : '/floor/new', missing: roomsLack(found), needed: true },
    {
      id: 'money',
      path: '/desk/money',
      missing: lacks(found.money?.facets.identity, MONEY_NEEDED, found.titles),
      needed: true,
    },
    {
      id: 'settings',
      path: '/desk/settings',
      missing: lacks(found.own?.facets.settings, SETTINGS_NEEDED, found.titles),
      needed: true,
    },
    {
      id: 'people',
      path: '/desk/people',
      missing: found.people > 1 ? null : { code: 'set-up.people-none', facts: {} },
      needed: false,
    },
  ];
}

/** Whether nothing that is needed is missing. @param {Step[]} steps */
export const isSetUp = (steps) => steps.every(({ missing, needed }) => missing === null || !needed);

/** @param {SetUp} found @returns {Reason | null} */
function catalogueLacks({ items, prices }) {
  const offered = items.filter(({ facets }) => facets.identity?.offered !== false);
  if (offered.length === 0) return { code: 'set-up.catalogue-none', facts: {} };
  for (const part of /** @type {const} */ (['bar', 'driver'])) {
    if (!offered.some(({ facets }) => facets[part]))
      return { code: `set-up.catalogue-no-${part}`, facts: {} };
  }
  const priced = new Set(
    prices.filter(({ facets }) => facets.identity?.each !== undefined).map(({ parent }) => parent),
  );
  const lacking = offered.filter(({ id }) => !priced.has(id)).length;
  return lacking > 0 ? { code: 'set-up.catalogue-prices', facts: { lacking, of: offered.length } } : null;
}

/** @param {SetUp} found @returns {Reason | null} */
function roomsLack({ floors, rooms }) {
  if (floors === 0) return { code: 'set-up.floors-none', facts: {} };
  return rooms === 0 ? { code: 'set-up.rooms-none', facts: {} } : null;
}

/** @param {object | undefined} value @param {string[]} needed @param {Record<string, string>} titles @returns {Reason | null} */
function lacks(value, needed, titles) {
  const there = /** @type {Value} */ (value ?? {});
  const missing = needed.filter((name) => there[name] === undefined);
  return missing.length > 0
    ? { code: 'set-up.lacks', facts: { names: missing.map((name) => titles[name] ?? name) } }
    : null;
}
