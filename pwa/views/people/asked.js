// Something that is not done at one tap: what it does is said first.

import { html } from '../html.js';
import { say } from '../words.js';

/** @param {{children: Child, doing: string, onDo: () => void, onLeave: () => void}} props `doing`: what the button says */
export function Asked({ children, doing, onDo, onLeave }) {
  return html`<div class="notice bad stack" role="alertdialog" aria-label=${say('people.sure')}>
    <p>${children}</p>
    <div class="side-by-side"><button type="button" class="button danger" onClick=${onDo}>${doing}</button><button type="button" class="button" onClick=${onLeave}>${say('people.stay')}</button></div>
  </div>`;
}
