// What was fitted in a fixture that is done, said or corrected afterwards.

import { useState } from 'preact/hooks';
import { fittedItems, releasedAt } from '../../rules/installing/as_fitted.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';
import { editOf, fittedDraft, fittedProblem, fittedValue } from './fitted.js';
import { AsFitted } from './fitted_form.js';

/** @typedef {import('./fitted.js').Edit} Edit */

/** @param {{site: Site, read: GroupRead, position: number, installation: RecordView<'installation'>}} props */
export function FittedLater({ site, read, position, installation }) {
  const [edit, setEdit] = useState(/** @type {Edit | null} */ (null));
  const [seen, setSeen] = useState(/** @type {string | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const frozen = read.conversion?.facets.identity?.frozen;
  if (!frozen || installation.facets.identity?.conversion !== read.conversion?.id) return null;
  const released = releasedAt(read.conversion, position, read.positions.length);
  const open = () => {
    const { reason, note } = installation.facets.as_fitted ?? {};
    setSeen(installation.seen.as_fitted ?? null);
    setEdit({ ...editOf(fittedItems(installation, released) ?? released), reason, note });
  };
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const wrong = fittedProblem(edit, released);
    setError(wrong);
    if (wrong) return;
    try {
      await site.save([fittedDraft(installation.id, fittedValue(edit, released), seen)]);
      setEdit(null);
    } catch (problem) {
      setError(problem);
    }
  };
  if (!edit)
    return html`<button type="button" class="button plain" onClick=${open}>${say('card.change-what-was-fitted')}</button>`;
  return html`<form class="card" onSubmit=${submit} aria-label=${say('card.change-what-was-fitted')}>
    <${AsFitted} site=${site} released=${released} edit=${edit} onEdit=${(/** @type {Edit | null} */ next) => setEdit(next ?? editOf(released))} onStart=${open} />
    <${Problem} error=${error} />
    <button class="button main">${say('page.save')}</button>
    <button type="button" class="button plain" onClick=${() => setEdit(null)}>${say('page.back')}</button>
  </form>`;
}
