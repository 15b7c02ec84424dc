// What a record is called at the head of a screen: a group by its kind and count, never 'without a name'.

import { titleOf } from '../record_screens.js';
import { say } from '../words.js';

/**
 * A group as people say it: 'K2 Troffer × 8'.
 *
 * @param {ViewRecord<'group'>} group @param {ViewRecord<'kind'> | null | undefined} kind
 */
export function groupTitle({ facets }, kind) {
  const { count } = facets.count ?? {};
  return [kind ? titleOf(kind) : say('survey.a-kind-that-is-not'), count && `× ${count}`]
    .filter(Boolean)
    .join(' ');
}

/** The head of a form of a record. @param {Site} site @param {RecordView} record @returns {Promise<string>} */
export async function headOf(site, record) {
  if (record.type !== 'group') return titleOf(record);
  const kind = /** @type {RecordView<'kind'> | undefined} */ (
    await site.get(record.facets.identity?.kind ?? '')
  );
  return groupTitle(/** @type {ViewRecord<'group'>} */ (/** @type {ViewRecord} */ (record)), kind);
}
