// An operation in a few words: what it was done to, what it did, what it wrote.

import { facetText } from '../surveying/facet_rows.js';
import { titleOf } from '../record_screens.js';
import { say } from '../words.js';

/** What it did. @param {Site} site @param {Deed} op */
export function deedOf(site, op) {
  if (op.kind === 'remove') return say('sync.deed.removed');
  if (op.kind === 'restore') return say('sync.brought-back');
  return site.spec.records[op.type ?? '']?.facets[op.facet ?? '']?.title ?? op.facet;
}

/** What it was done to. @param {Site} site @param {Deed} op @param {RecordView | null | undefined} record as it is on this phone, if it is */
export const titleFor = (site, op, record) =>
  record ? titleOf(record) : (site.spec.records[op.type ?? '']?.title ?? op.type);

/** What it wrote, field by field. @param {Site} site @param {Deed} op */
export const saidBy = (site, op) =>
  facetText(site.spec.records[op.type ?? '']?.facets[op.facet ?? '']?.fields ?? {}, op.to ?? {}) ?? '';
