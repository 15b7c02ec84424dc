// What a surveyor wrote down in words for those who come after: it stands in no step of a card, and may be what matters most.

import { html } from '../html.js';
import { say } from '../words.js';

/** @typedef {{group?: RecordView<'group'>, room?: RecordView<'room'>}} Of */

/**
 * Notes on a group and on the ceiling it hangs in, each with what it is about.
 *
 * @param {Site['spec']} spec @param {Of} of @returns {Array<{about: string, note: string}>}
 */
export function notesOf({ records }, { group, room }) {
  const noted = [
    { about: records.group.facets.differs.title, note: group?.facets.differs?.note },
    { about: records.room.facets.ceiling.title, note: room?.facets.ceiling?.note },
  ];
  return noted.flatMap(({ about, note }) => (note?.trim() ? [{ about, note: note.trim() }] : []));
}

/** @param {{site: Site, of: Of}} props */
export function SurveyNotes({ site, of }) {
  const notes = notesOf(site.spec, of);
  if (notes.length === 0) return null;
  return html`<section class="notice stack" aria-label=${say('card.survey-noted')}>
    <p class="strong">${say('card.survey-noted')}</p>
    ${notes.map(({ about, note }) => html`<p key=${about}>${say('card.survey-note', { about, note })}</p>`)}
  </section>`;
}
