// A manager's answer to what changed since a release: it may go on, and why.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { mayWrite } from '../record_screens.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';

/**
 * For who may answer; the answer names just these changes, and is taken only while they are the present ones.
 *
 * @param {{site: Site, conversion: string, fingerprint: string}} props
 */
export function AnswerForm({ site, conversion, fingerprint }) {
  const [typed, setTyped] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  if (!mayWrite(site, 'conversion', 'answer')) return null;
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!typed.trim()) return setError({ code: 'desk.answer-reason' });
    try {
      await saveFacet(site, conversion, 'conversion', 'answer', {
        changes: fingerprint,
        answer: typed.trim(),
      });
    } catch (problem) {
      setError(problem);
    }
  };
  const id = `answer-${conversion}`;
  return html`<form class="stack" onSubmit=${save} aria-label=${say('crew.answer')}>
    <div class="field">
      <label for=${id}>${say('crew.why-it-may-go-on')}</label>
      <textarea id=${id} class="short" rows="2" maxlength="2000" value=${typed} aria-invalid=${error ? 'true' : 'false'}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setTyped(event.currentTarget.value)}></textarea>
    </div>
    <p class="muted">${say('standing.answer-help')}</p>
    <${Problem} error=${error} />
    <button class="button">${say('crew.let-it-go-on')}</button>
  </form>`;
}

/** Save a facet of a record, having seen what is there. @param {Site} site @param {string} record @param {string} type @param {string} facet @param {Value} value */
export async function saveFacet(site, record, type, facet, value) {
  const { seen } = await site.form(record, facet);
  await site.save([{ record, type, facet, value, seen }]);
}
