// What was fitted in one fixture, item by item, held against what was released for it. Twin: server/spanwalk/rules/installing/as_fitted.py.

import { facet, inOrder } from '../survey.js';

/** An item in one fixture; see the twin. @typedef {{kind: string, code: string, number: number, item?: string, rows?: number[], setting_ma?: number, serials?: string[], spare?: boolean}} FittedItem */
/** @typedef {{kind: string, code: string, released: number, fitted: number, released_ma: number | null, fitted_ma: number | null}} FittedDifference */
/** @typedef {import('../survey.js').ViewRecord<'installation'>} Installation */

const [BAR, DRIVER, ACCESSORY] = ['bar', 'driver', 'accessory'];
const KINDS = [BAR, DRIVER, ACCESSORY];
const PACK = 'emergency-pack';

/** What a release wants in one fixture: bars by their codes, the driver, what is fitted beside them. @param {Partial<Card>} card @param {number} position @param {number} fixtures those of the group @returns {FittedItem[]} */
export const releasedItems = (card, position, fixtures) => [
  ...bars(card),
  ...driver(card),
  ...accessories(card, position, fixtures),
];

/** @param {Partial<Card>} card @returns {FittedItem[]} */
function bars({ rows = [] }) {
  /** @type {Map<string, FittedItem & {rows: number[]}>} */
  const found = new Map();
  for (const { row, cavities = 1, bars: here = [] } of rows) {
    for (const { name } of here) {
      const each = found.get(name) ?? { kind: BAR, code: name, number: 0, rows: [] };
      const in_rows = each.rows.includes(row) ? each.rows : [...each.rows, row];
      found.set(name, { ...each, number: each.number + cavities, rows: in_rows });
    }
  }
  return [...found.values()];
}

/** @param {Partial<Card>} card @returns {FittedItem[]} */
const driver = ({ driver: wanted }) =>
  wanted
    ? [{ kind: DRIVER, code: wanted.name, number: wanted.number ?? 1, setting_ma: wanted.setting_ma }]
    : [];

/** @param {Partial<Card>} card @param {number} position @param {number} fixtures @returns {FittedItem[]} */
function accessories({ accessories: all = [], emergency }, position, fixtures) {
  return all.flatMap(({ name, purpose, positions: own, in_the_group: inTheGroup = 1 }) => {
    const packs = purpose === PACK ? emergency?.positions : undefined;
    const positions = [own, packs].find((some) => some && some.length > 0);
    if (positions && !positions.includes(position)) return [];
    const shared = Math.max(1, positions ? positions.length : fixtures);
    return [{ kind: ACCESSORY, code: name, number: Math.max(1, Math.floor(inTheGroup / shared)) }];
  });
}

/** The items that a conversion wants in one fixture; see the twin. @param {import('../survey.js').ViewRecord<'conversion'> | undefined} conversion @param {number} position @param {number} counted fixtures that the group has now @returns {FittedItem[]} */
export function releasedAt(conversion, position, counted) {
  const { frozen = {}, facts } = facet(conversion, 'identity');
  return releasedItems(frozen, position, facts?.group?.count?.count || counted);
}

/** What was fitted, as far as it was said: the items told, those released where it is as released, else null. @param {Installation} installation @param {FittedItem[]} released @returns {FittedItem[] | null} */
export function fittedItems(installation, released) {
  const { items, as_released: asReleased } = facet(installation, 'as_fitted');
  if (Array.isArray(items)) return items.filter(isItem);
  return asReleased ? [...released] : null;
}

/** Whether a value is an item; it may come from elsewhere than our phones. @param {unknown} each @returns {each is FittedItem} */
export function isItem(each) {
  if (!each || typeof each !== 'object') return false;
  const {
    kind,
    code,
    number,
    setting_ma = 0,
    rows = [],
    serials = [],
  } = /** @type {Partial<FittedItem>} */ (each);
  if (!KINDS.includes(kind ?? '') || typeof code !== 'string') return false;
  const whole = [number, setting_ma].every((told = -1) => Number.isInteger(told) && told >= 0);
  return whole && Array.isArray(rows) && Array.isArray(serials);
}

/** What was fitted otherwise than released: by kind and code, in the order of the release, what is new last. @param {FittedItem[]} released @param {FittedItem[]} fitted @returns {FittedDifference[]} */
export function differences(released, fitted) {
  const [wanted, there] = [counted(released), counted(fitted)];
  const keys = [...wanted.keys(), ...[...there.keys()].filter((key) => !wanted.has(key))];
  return keys
    .map((key) => {
      const none = { ...(wanted.get(key) ?? there.get(key)), number: 0, setting_ma: null };
      return { before: wanted.get(key) ?? none, after: there.get(key) ?? none };
    })
    .filter(({ before, after }) => before.number !== after.number || isSetOtherwise(before, after))
    .map(({ before, after }) => ({
      kind: before.kind ?? '',
      code: before.code ?? '',
      released: before.number,
      fitted: after.number,
      released_ma: before.setting_ma,
      fitted_ma: after.setting_ma,
    }));
}

/** @typedef {{kind?: string, code?: string, number: number, setting_ma: number | null}} Counted */

/** @param {Counted} before @param {Counted} after */
const isSetOtherwise = (before, after) =>
  before.number > 0 &&
  after.number > 0 &&
  after.setting_ma !== null &&
  before.setting_ma !== after.setting_ma;

/** How many of each code, and the setting of the last that names one. @param {FittedItem[]} items @returns {Map<string, Counted>} */
function counted(items) {
  /** @type {Map<string, Counted>} */
  const found = new Map();
  for (const { kind, code, number, setting_ma } of items) {
    const key = `${kind}|${code}`;
    const before = found.get(key) ?? { kind, code, number: 0, setting_ma: null };
    found.set(key, {
      ...before,
      number: before.number + number,
      setting_ma: setting_ma ?? before.setting_ma,
    });
  }
  return new Map([...found].filter(([, each]) => each.number > 0));
}

/** How many of each code were taken from the spares. @param {Installation[]} installations the last word on each fixture @returns {Record<string, number>} */
export function sparesUsed(installations) {
  /** @type {Record<string, number>} */
  const found = {};
  for (const each of installations.flatMap((told) => fittedItems(told, []) ?? []))
    if (each.spare) found[each.code] = (found[each.code] ?? 0) + each.number;
  return Object.fromEntries(Object.entries(found).sort(([a], [b]) => inOrder(a, b)));
}
