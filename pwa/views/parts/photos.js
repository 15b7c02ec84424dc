// Photos of something, and the button that takes one.

import { useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { choiceText, say } from '../words.js';
import { Problem } from './parts.js';

/** @param {{site: Site, subject: string, purpose: string, label?: string}} props */
export function PhotoButton({ site, subject, purpose, label = say('page.take-a-photo') }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {EventOf<HTMLInputElement>} event */
  const take = async (event) => {
    const input = event.currentTarget;
    const [blob] = input.files ?? [];
    if (!blob) return;
    setError(null);
    try {
      await site.addPhoto({ subject, purpose, blob });
    } catch (problem) {
      setError(problem);
    }
    input.value = '';
  };
  return html`<div class="field">
    <label class="button camera">
      <input type="file" accept="image/*" capture="environment" onChange=${take} />
      <span>${label}</span>
    </label>
    <${Problem} error=${error} />
  </div>`;
}

/** @param {{site: Site, sha256: string, alt: string}} props */
export function Photo({ site, sha256, alt }) {
  const url = useLive(() => site.photoUrl(sha256, { thumb: true }), [sha256]);
  if (url === undefined) return null;
  if (url === null) return html`<p class="muted small">${say('view.photo-not-here', { photo: alt })}</p>`;
  return html`<img src=${url} alt=${alt} />`;
}

/** All photos of a record. @param {{site: Site, subject: string}} props */
export function Photos({ site, subject }) {
  const photos = useLive(() => site.referring(subject, 'photo'), [subject]);
  if (!photos?.length) return null;
  return html`<ul class="photos" aria-label=${say('page.photos')}>
    ${photos.map(
      (photo) => html`<li key=${photo.id}>
        <${Photo} site=${site} sha256=${photo.facets.identity?.sha256} alt=${photo.facets.caption?.caption ?? choiceText(photo.facets.identity?.purpose ?? '')} />
      </li>`,
    )}
  </ul>`;
}
