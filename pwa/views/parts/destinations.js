// The destinations of a site that one can go to: which role has which in its bar, and all of them in their groups.

/** @typedef {{id: string, path: string, roles?: readonly string[], also?: readonly string[]}} Destination `path`: below the site's address; `roles`: who needs it, all where absent; `also`: further addresses that are part of it */

const SURVEY = /** @type {const} */ (['surveyor', 'manager', 'owner']);
const DECIDES = /** @type {const} */ (['manager', 'owner']);

/** In a site. @type {Destination[]} */
export const HERE = [
  { id: 'home', path: '' },
  { id: 'kinds', path: '/kinds' },
  { id: 'open-points', path: '/open-points', roles: SURVEY },
  { id: 'today', path: '/today' },
  { id: 'work', path: '/work' },
  { id: 'receive', path: '/receive' },
  { id: 'stock', path: '/stock' },
  { id: 'scan', path: '/scan' },
  { id: 'new', path: '/new', roles: SURVEY },
  { id: 'unsent', path: '/unsent' },
  { id: 'conflicts', path: '/conflicts', roles: SURVEY },
  { id: 'find', path: '/find' },
];

/** At the desk, in groups: [what the group is about, its destinations]. @type {Array<[string, Destination[]]>} */
export const DESK = [
  [
    'survey',
    [
      { id: 'completeness', path: '/desk' },
      { id: 'walk', path: '/desk/walk', roles: SURVEY },
    ],
  ],
  [
    'conversion',
    [
      { id: 'plan', path: '/desk/plan' },
      { id: 'offer', path: '/desk/offer', roles: DECIDES },
      { id: 'releases', path: '/desk/releases' },
      { id: 'orders', path: '/desk/orders', roles: DECIDES },
      { id: 'labels', path: '/desk/labels' },
      { id: 'emergency', path: '/desk/emergency' },
      { id: 'handover', path: '/desk/handover', roles: DECIDES, also: ['/desk/proof'] },
      { id: 'upkeep', path: '/desk/upkeep' },
      { id: 'claims', path: '/desk/claims' },
      { id: 'recall', path: '/desk/recall' },
    ],
  ],
  [
    'crews',
    [
      { id: 'days', path: '/desk/days' },
      { id: 'schedule', path: '/desk/schedule', roles: DECIDES },
      { id: 'problems', path: '/desk/problems' },
      { id: 'fitted', path: '/desk/fitted' },
    ],
  ],
  [
    'site',
    [
      { id: 'catalogue', path: '/desk/catalogue', roles: DECIDES },
      { id: 'money', path: '/desk/money', roles: DECIDES },
      { id: 'figures', path: '/desk/figures', roles: SURVEY },
      { id: 'files', path: '/desk/files', roles: DECIDES },
      { id: 'people', path: '/desk/people' },
      { id: 'audit', path: '/desk/audit', roles: DECIDES },
      { id: 'learning', path: '/desk/learning', roles: ['owner'] },
      { id: 'settings', path: '/desk/settings', roles: DECIDES, also: ['/desk/delete'] },
    ],
  ],
];

/** Who is led to the desk. */
export const leadsToTheDesk = (/** @type {string} */ role) =>
  /** @type {readonly string[]} */ (SURVEY).includes(role);

/** @type {Destination} */
const TO_THE_DESK = { id: 'desk', path: '/desk' };
/** @type {Destination} */
const MORE = { id: 'more', path: '/more' };

/** At most five. @type {Record<string, string[]>} */
const BARS = {
  surveyor: ['home', 'kinds', 'open-points', 'find', 'more'],
  crew: ['home', 'today', 'scan', 'find', 'more'],
  manager: ['home', 'open-points', 'desk', 'find', 'more'],
  owner: ['home', 'open-points', 'desk', 'find', 'more'],
  facility: ['home', 'scan', 'claims', 'upkeep', 'more'],
};
/** What the customer's facility manager needs: nothing of the firm's work. */
const FOR_FACILITY = new Set(['home', 'scan', 'claims', 'upkeep', 'unsent', 'more']);
/** @type {Destination[]} */
const OF_FACILITY = [
  { id: 'claims', path: '/desk/claims' },
  { id: 'upkeep', path: '/desk/upkeep' },
];
const LOOKS_ONLY = ['home', 'kinds', 'find', 'more'];

/** The destinations in the bar of a role. @param {string} role @returns {Destination[]} */
export function barOf(role) {
  const named = new Map([...HERE, ...OF_FACILITY, TO_THE_DESK, MORE].map((place) => [place.id, place]));
  return (BARS[role] ?? LOOKS_ONLY).flatMap((id) => named.get(id) ?? []);
}

/** Those that a role needs. @param {Destination[]} destinations @param {string} role */
export const forRole = (destinations, role) =>
  role === 'facility'
    ? destinations.filter(({ id }) => FOR_FACILITY.has(id))
    : destinations.filter(({ roles }) => !roles || roles.includes(role));

/**
 * Which of several destinations an address lies in: the longest that it begins with; 'home' is nothing but itself.
 *
 * @param {Destination[]} destinations @param {string} site @param {string} pathname
 * @returns {string | null} its id
 */
export function destinationAt(destinations, site, pathname) {
  const below = pathname.slice(`/s/${site}`.length).replace(/\/$/, '');
  const within = destinations
    .flatMap(({ id, path, also = [] }) => [path, ...also].map((each) => ({ id, path: each })))
    .filter(({ path }) => (path === '' ? below === '' : `${below}/`.startsWith(`${path}/`)));
  return within.sort((a, b) => b.path.length - a.path.length)[0]?.id ?? null;
}
