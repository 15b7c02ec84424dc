// A label's picture, from the camera app or a file, read as a scan is.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';
import { whatToDo } from './camera.js';
import { textsInPicture } from './look.js';

/** @param {{onTexts: (texts: string[]) => void, onTold: (sentence: string) => void}} props `onTold`: how it goes, '' once it is read */
export function StillPicture({ onTexts, onTold }) {
  const [busy, setBusy] = useState(false);
  /** @param {EventOf<HTMLInputElement>} event */
  const read = async ({ currentTarget: input }) => {
    const [file] = input.files ?? [];
    if (!file) return;
    setBusy(true);
    onTold(say('scanner.reading'));
    try {
      const texts = await textsInPicture(file);
      onTold(texts.length > 0 ? '' : say('scanner.nothing-in-picture'));
      if (texts.length > 0) onTexts(texts);
    } catch (error) {
      const { name } = /** @type {Error} */ (error);
      onTold(say(name === 'InvalidStateError' ? 'scanner.no-picture' : whatToDo(error)));
    }
    setBusy(false);
    input.value = '';
  };
  /** @param {string} word @param {string | undefined} capture `environment`: by the camera app */
  const button = (word, capture) => html`<label class="button camera">
    <input type="file" accept="image/*" capture=${capture} disabled=${busy} onChange=${read} />
    <span>${say(word)}</span>
  </label>`;
  return html`<section class="stack" aria-label=${say('scanner.picture')}>
    <div class="side-by-side">${button('scanner.take-picture', 'environment')}${button('scanner.picture-file', undefined)}</div>
  </section>`;
}
