// Changes of the catalogue as ordinary saves: one cell, a copy of an item, retired and back, recalled.

import { checkFields } from '../../forms/field_checks.js';
import { SORTS, stateOf } from './rows.js';

/** @typedef {import('./rows.js').ItemRow} ItemRow */
/** @typedef {import('./rows.js').Column} Column */

const CODE_LETTERS_MOST = 30;
/** What a copy takes over; neither recall nor retirement, nor where it was taken from. */
const COPIED = ['identity', ...Object.values(SORTS), 'supply'];

/**
 * Save one cell of a table; what stands beside it in its facet stays as it was.
 *
 * @param {Site} site @param {ItemRow} row @param {Column} column @param {unknown} next undefined: nothing
 * @throws {{code: string, facts: Facts}} it cannot stand so
 */
export async function saveCell(site, { item, price }, { type, facet, field }, next) {
  const record = /** @type {RecordView | undefined} */ (type === 'price' ? price : item);
  const { [field]: _, ...others } = record?.facets[facet] ?? { parent: item.id };
  const value = next === undefined ? others : { ...others, [field]: next };
  const [wrong] = Object.values(checkFields(site.spec.records[type].facets[facet].fields, value));
  if (wrong) throw wrong;
  const seen = record?.seen[facet] ?? null;
  await site.save([{ record: record?.id ?? site.newId(), type, facet, value, seen }]);
}

/**
 * Save a copy of an item with its price under a code of its own.
 *
 * @param {Site} site @param {ItemRow} row @param {string} mark what its code ends in
 * @returns {Promise<string>} the copy's id
 */
export async function duplicate(site, { item, price }, mark) {
  const id = site.newId();
  const facets = /** @type {Record<string, Value>} */ (item.facets);
  const code = `${[...facets.identity.code].slice(0, CODE_LETTERS_MOST - mark.length).join('')}${mark}`;
  /** @type {Draft[]} */
  const drafts = COPIED.filter((name) => Object.keys(facets[name] ?? {}).length > 0).map((name) => ({
    record: id,
    type: 'catalogue_item',
    facet: name,
    value: name === 'identity' ? { ...facets.identity, code } : facets[name],
    seen: null,
  }));
  if (price?.facets.identity)
    drafts.push({
      record: site.newId(),
      type: 'price',
      facet: 'identity',
      value: { ...price.facets.identity, parent: id },
      seen: null,
    });
  await site.save(drafts);
  return id;
}

/** Retire an item, or bring it back. @param {Site} site @param {RecordView<'catalogue_item'>} item @param {string} reason */
export const retire = (site, item, reason) =>
  saveFacet(site, item, 'retired', { retired: stateOf(item) !== 'retired', ...(reason && { reason }) });

/** Recall an item, or without a reason take the recall back. @param {Site} site @param {RecordView<'catalogue_item'>} item @param {string} reason */
export const recall = (site, item, reason) => saveFacet(site, item, 'recall', reason ? { reason } : {});

/** @param {Site} site @param {RecordView<'catalogue_item'>} item @param {'retired' | 'recall'} facet @param {Value} value */
const saveFacet = (site, item, facet, value) =>
  site.save([{ record: item.id, type: 'catalogue_item', facet, value, seen: item.seen[facet] ?? null }]);
