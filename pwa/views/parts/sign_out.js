// Signing out clears what was sent; of work that is only on this phone it first says how much, and offers to send it or keep it in a file.

import { useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { counted, say } from '../words.js';

/** @typedef {{operations: number, photos: number, refused: number}} Counts */

export function SignOut() {
  const [left, setLeft] = useState(/** @type {Counts | null} */ (null));
  const leave = async () => {
    await store.signOut();
    navigate('/sign-in', { replace: true });
  };
  const ask = async () => {
    const counts = await store.unsentEverywhere();
    if (counts.operations + counts.photos + counts.refused === 0) return leave();
    return setLeft(counts);
  };
  if (!left) return html`<button class="button" onClick=${ask}>${say('page.sign-out')}</button>`;
  return html`<section class="notice bad stack" role="alertdialog" aria-label=${say('page.work-that-is-not-sent')}>
    <p>${say('page.only-on-this-phone')} ${numbers(left)}${say('page.signing-out-keeps-it-here')}</p>
    <div class="side-by-side">
      <button class="button main" onClick=${() => store.syncNow().then(ask)}>${say('page.send-it-first')}</button>
      ${store.sites().map((site) => html`<a class="button" href=${`/s/${site.id}/unsent`}>${say('page.save-to-a-file')}</a>`)}
      <button class="button" onClick=${() => setLeft(null)}>${say('page.stay-signed-in')}</button>
      <button class="button danger" onClick=${leave}>${say('page.sign-out-all-the-same')}</button>
    </div>
  </section>`;
}

/** @param {Counts} counts */
function numbers({ operations, photos, refused }) {
  const parts = [
    operations && counted(operations, 'entry'),
    photos && counted(photos, 'photo'),
    refused && say('page.that-the-server-did-not', { refused }),
  ];
  return parts.filter(Boolean).join(', ');
}
