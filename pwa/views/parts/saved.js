// 'Saved', once, with the way back.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { Problem } from './parts.js';
import { say } from '../words.js';

/** @param {{site: Site, children?: Child, onUndone?: () => void}} props */
export function Saved({ site, children = say('page.saved-on-this-phone'), onUndone }) {
  const [undone, setUndone] = useState(false);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const undo = async () => {
    try {
      await site.undo();
      setUndone(true);
      onUndone?.();
    } catch (problem) {
      setError(problem);
    }
  };
  if (undone) return html`<div class="saved" role="status"><span>${say('page.taken-back')}</span></div>`;
  return html`<div class="saved" role="status">
    <span>${children}</span>
    <button type="button" class="button plain" onClick=${undo}>${say('page.undo')}</button>
    <${Problem} error=${error} />
  </div>`;
}
