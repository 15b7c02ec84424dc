// Choices of this phone: when photos go, and whether the system has promised to keep what is stored.

import { useEffect, useState } from 'preact/hooks';
import { choosePhotos, networkKind, photoChoice } from '../../store/photo_choice.js';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { say } from '../words.js';

export function ThisPhone() {
  useEffect(() => {
    store.askToPersist();
  }, []);
  const [choice, setChoice] = useState(photoChoice());
  const choose = (/** @type {EventOf<HTMLInputElement>} */ event) => {
    choosePhotos(
      /** @type {import('../../store/photo_choice.js').PhotoChoice} */ (event.currentTarget.value),
    );
    setChoice(photoChoice());
    store.syncNow();
  };
  return html`<section class="stack" aria-label=${say('page.this-phone')}>
    <h2>${say('page.this-phone')}</h2>
    <div class="field"><label for="photos-go">${say('page.photos-are-sent')}</label>
      <select id="photos-go" value=${choice} onChange=${choose}>
        <option value="any" selected=${choice === 'any'}>${say('page.with-any-signal')}</option>
        <option value="wifi" selected=${choice === 'wifi'}>${say('page.on-wi-fi-only')}</option>
      </select></div>
    ${choice === 'wifi' && html`<p class="small muted">${say(networkKind() === null ? 'phone.network-unknown' : 'phone.photos-on-wifi')}</p>`}
    ${store.persisted === false && html`<p class="small muted">${say('phone.may-be-cleared')}</p>`}
  </section>`;
}
