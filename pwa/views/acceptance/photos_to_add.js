// Photos that wait for the record they will belong to.

import { html } from '../html.js';
import { say } from '../words.js';

/** @param {{label: string, photos: Blob[], onAdd: (blobs: Blob[]) => void}} props */
export function PhotosToAdd({ label, photos, onAdd }) {
  const take = (/** @type {EventOf<HTMLInputElement>} */ event) => {
    const input = event.currentTarget;
    onAdd([...(input.files ?? [])]);
    input.value = '';
  };
  return html`<label class="button camera">
    <input type="file" accept="image/*" capture="environment" onChange=${take} />
    <span>${photos.length > 0 ? say('acceptance.photos-taken', { label, n: photos.length }) : label}</span>
  </label>`;
}
