// What a room or a group has from its floor or panel, with who answered it there, read from this phone.

import { Above } from '../../rules/inherited.js';
import { store } from '../../store/store.js';
import { titleOf } from '../record_screens.js';
import { say } from '../words.js';

/** @typedef {{values: Record<string, Value>, from: Record<string, string[]>}} Inherited by facet: all that holds here, and a sentence for each answer that comes from above */

/** @type {Inherited} */
export const NOTHING_INHERITED = { values: {}, from: {} };

/** A room or a group with what holds for it from above, to be read and never saved. @template {RecordView<'room'> | RecordView<'group'>} R @param {Site} site @param {R} record @returns {Promise<R>} */
export const asItHolds = async (site, record) => (await readAbove(site, record)).found.record;

/** @template {RecordView<'room'> | RecordView<'group'>} R @param {Site} site @param {R} record */
async function readAbove(site, record) {
  const room = record.type === 'room' ? record : await site.get(record.parent ?? '');
  const [floor, panels] = await Promise.all([site.get(room?.parent ?? ''), site.all('panel')]);
  const records = /** @type {RecordView[]} */ ([...(floor ? [floor] : []), ...panels]);
  const above = new Above(/** @type {ViewRecord[]} */ (records));
  const seen = /** @type {R & ViewRecord} */ (record);
  const found =
    record.type === 'room'
      ? above.room(seen)
      : above.group(seen, /** @type {ViewRecord | undefined} */ (room));
  return { found, records };
}

/**
 * @param {Site} site @param {RecordView<'room'> | RecordView<'group'>} record @returns {Promise<Inherited>}
 */
export async function inheritedHere(site, record) {
  const { found, records } = await readAbove(site, record);
  /** @type {Record<string, string[]>} */
  const from = {};
  for (const { facet, field, source } of found.answers) {
    const answering = /** @type {RecordView} */ (records.find(({ id }) => id === source));
    const title = site.spec.records[record.type].facets[facet].fields[field].title;
    const who = store.whoSaid(answering, facet);
    from[facet] = [
      ...(from[facet] ?? []),
      say('survey.comes-from', { title, from: titleOf(answering), who }),
    ];
  }
  return { values: /** @type {Record<string, Value>} */ (found.record.facets), from };
}
