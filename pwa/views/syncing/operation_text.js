// An operation in a few words: what it was done to, what it did, what it wrote.

import { nameOf, titleOf } from '../record_screens.js';
import { facetText } from '../surveying/facet_rows.js';
import { say } from '../words.js';

/** What it did. @param {Site} site @param {Deed} op */
export function deedOf(site, op) {
  if (op.kind === 'remove') return say('sync.deed.removed');
  if (op.kind === 'restore') return say('sync.brought-back');
  return site.spec.records[op.type ?? '']?.facets[op.facet ?? '']?.title ?? op.facet;
}

/** @typedef {Map<string, RecordView>} Here records on this phone, by id */

/** What it was done to. @param {Site} site @param {Deed} op @param {RecordView | null | undefined} record as it is on this phone, if it is */
export const titleFor = (site, op, record) =>
  (record && nameOf(record)) || (site.spec.records[op.type ?? '']?.title ?? op.type);

/** What it was done to and what it did, said once where both are called the same. @param {Site} site @param {Deed} op @param {RecordView | null | undefined} record */
export function headOf(site, op, record) {
  const [title, deed] = [titleFor(site, op, record), deedOf(site, op)];
  return title === deed ? title : `${title}: ${deed}`;
}

/** The record that another lies in. @param {RecordView | undefined} record @param {Deed[]} deeds @param {string} id */
const parentOf = (record, deeds, id) =>
  record?.parent ?? deeds.find((each) => each.record === id && each.to?.parent)?.to?.parent;

/**
 * Where it was done: the room, and the kind of the group; '' where that is what it was done to, or nobody here knows it.
 *
 * @param {Here} here @param {Deed[]} deeds all that are told: one may say where the record of another lies @param {Deed} op
 */
export function whereOf(here, deeds, op) {
  const found = above(here, deeds, op.record ?? '');
  const group = found.find((record) => record.type === 'group');
  const kind = group && here.get(String(group.facets.identity?.kind));
  const room = found.find((record) => record.type === 'room' && record.id !== op.record);
  return [room, kind].flatMap((record) => (record ? [titleOf(record)] : [])).join(', ');
}

/** A record and those that it lies in, from within, as far as they are here. @param {Here} here @param {Deed[]} deeds @param {string} first @returns {RecordView[]} */
function above(here, deeds, first) {
  const found = [];
  for (let id = first, steps = 0; id && steps < DEEPEST; steps += 1) {
    const record = here.get(id);
    if (record) found.push(record);
    id = String(parentOf(record, deeds, id) ?? '');
  }
  return found;
}

/** Site, floor, room, group, what is done there. */
const DEEPEST = 5;

/** Reads what deeds were done to, and what that lies in. @param {Site} site @param {Deed[]} deeds @returns {Promise<Here>} */
export async function readHere(site, deeds) {
  /** @type {Here} */
  const here = new Map();
  let wanted = deeds.flatMap(({ record, to }) => [record, to?.parent]);
  for (let steps = 0; steps < DEEPEST && wanted.length > 0; steps += 1) {
    const ids = [...new Set(wanted)].filter((id) => id && !here.has(id));
    const records = (await Promise.all(ids.map((id) => site.get(id)))).flatMap((each) => each ?? []);
    for (const record of records) here.set(record.id, record);
    wanted = records.flatMap(({ parent, facets }) => [parent, facets.identity?.kind]);
  }
  return here;
}

/** What it wrote, field by field. @param {Site} site @param {Deed} op */
export const saidBy = (site, op) =>
  facetText(site.spec.records[op.type ?? '']?.facets[op.facet ?? '']?.fields ?? {}, op.to ?? {}) ?? '';
