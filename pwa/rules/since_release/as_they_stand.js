// Fields, conflicts and items that are compared as they stand. Twin: server/spanwalk/rules/since_release/as_they_stand.py.

import { facet, has, inOrder } from '../survey.js';
import { change, facetOfItem, itemsOf, LOOK, PARTS, plain, STOP, saidBy, same } from './seen.js';

/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./seen.js').Change} Change */
/** @typedef {import('./seen.js').Row} Row */
/** @typedef {import('./seen.js').RecordName} RecordName */
/** @template {string} [T=string] @typedef {import('./seen.js').ViewRecord<T>} ViewRecord */

/** @type {WeakMap<object, Map<string, Record<string, StandingRow>>>} */
const rowsOfTable = new WeakMap();

/** Record and facet -> field -> row of the table; put together once. @param {Seen} seen @returns {Map<string, Record<string, StandingRow>>} */
function rowsOf({ tables }) {
  const { rows } = tables.standing;
  const known = rowsOfTable.get(rows);
  if (known) return known;
  /** @type {Map<string, Record<string, StandingRow>>} */
  const found = new Map();
  for (const row of rows) {
    const key = `${row.record}.${row.facet}`;
    const ofFacet = found.get(key);
    if (ofFacet) ofFacet[row.field] = row;
    else found.set(key, { [row.field]: row });
  }
  rowsOfTable.set(rows, found);
  return found;
}

/** Fields that differ and are compared as they stand, with the weight of each. @param {Row} from @param {Row} to @param {Record<string, StandingRow>} rows @returns {Array<[string, string]>} */
function differing(from, to, rows) {
  return [...new Set([...Object.keys(from), ...Object.keys(to)])].sort(inOrder).flatMap((field) => {
    const row = rows[field] ?? rows['*'];
    if (!row || ![STOP, LOOK].includes(row.class) || same(plain(from[field]), plain(to[field]))) return [];
    return [
      /** @type {[string, string]} */ ([field, (row.harmless ?? []).includes(to[field]) ? LOOK : row.class]),
    ];
  });
}

/** @param {Seen} seen @returns {Change[]} */
export function fields(seen) {
  return [...rowsOf(seen)].flatMap(([key, rows]) => {
    const [name, facetName = ''] = /** @type {[RecordName, string]} */ (key.split('.'));
    const record = /** @type {ViewRecord | undefined} */ (seen.records[name]);
    if (!record) return [];
    const [from, to] = [seen.facts[name]?.[facetName] ?? {}, facet(record, facetName)];
    return differing(from, to, rows).map(([field, weight]) =>
      change(`${key}.${field}`, weight, plain(from[field]), plain(to[field]), saidBy(record, facetName)),
    );
  });
}

/** Facets that have two values since. @param {Seen} seen @returns {Change[]} */
export function conflicts(seen) {
  const [rows, known] = [rowsOf(seen), seen.facts.conflicts ?? []];
  return Object.entries(seen.records).flatMap(([name, record]) =>
    record.conflicts.flatMap(({ id, facet: facetName, by, at }) => {
      const ofFacet = rows.get(`${name}.${facetName}`);
      if (!ofFacet || known.includes(id) || name === 'site') return [];
      const said = { by: by ?? '', at: at ?? '' };
      return change(
        'conflict',
        ofFacet.conflict ? STOP : LOOK,
        null,
        'two values',
        said,
        `${name}.${facetName}`,
      );
    }),
  );
}

/** Items that were recalled since, or of which the catalogue says something else. @param {Seen} seen @returns {Change[]} */
export function items(seen) {
  const rows = rowsOf(seen);
  return [...new Set(itemsOf(seen, ...PARTS))].flatMap((id) => {
    const [record, released] = [seen.survey.get(id), seen.released[id] ?? {}];
    if (!record) return [];
    const code = released.code ?? '';
    const recalled = has(record, 'recall')
      ? [
          change(
            'item.recall',
            STOP,
            null,
            facet(record, 'recall').reason ?? null,
            saidBy(record, 'recall'),
            code,
          ),
        ]
      : [];
    const name = facetOfItem(record.facets);
    if (!name || !released[name]) return recalled;
    const [from, to] = [released[name], facet(record, name)];
    const other = differing(from, to, rows.get(`item.${name}`) ?? {}).map(([field, weight]) =>
      change(
        `item.${name}.${field}`,
        weight,
        plain(from[field]),
        plain(to[field]),
        saidBy(record, name),
        code,
      ),
    );
    return [...recalled, ...other];
  });
}
