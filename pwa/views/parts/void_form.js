// To void something that stays on record: why, and the button.

import { useState } from 'preact/hooks';
import { draftOf } from '../drafts.js';
import { html } from '../html.js';
import { Problem } from './parts.js';
import { say } from '../words.js';

/** @param {{id: string, onVoid: (reason: string) => void}} props */
export function VoidForm({ id, onVoid }) {
  const draft = draftOf('void', id);
  const [reason, setReason] = useState(() => draft.at ?? '');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {string} text */
  const type = (text) => {
    setReason(text);
    draft.keep(text);
  };
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!reason.trim()) return setError({ code: 'readings.why-void', facts: {} });
    draft.forget();
    return onVoid(reason.trim());
  };
  return html`<form class="field" onSubmit=${submit}>
    <label for=${`void-${id}`}>${say('page.void-it-because')}</label>
    <div class="unit-beside">
      <input id=${`void-${id}`} autocomplete="off" value=${reason} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
      <button class="button danger">${say('page.void')}</button>
    </div>
    <${Problem} error=${error} />
  </form>`;
}
