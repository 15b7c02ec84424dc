// A site that this phone is shut out of: what it had is put away; what is only here is sent, or goes into a file, before it goes.

import { useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { useLive, useStatus } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { counted, say } from '../words.js';
import { ToFile } from './unsent.js';

/** @param {{site: Site}} props */
export function ShutOutSite({ site }) {
  useStatus();
  const unsent = useLive(() => site.unsent(), [site.id]);
  const [saved, setSaved] = useState(false);
  if (!unsent) return null;
  const entries = unsent.operations.length + unsent.refused.length + unsent.recovered.length;
  const photos = unsent.photos.length;
  const waits = entries + photos > 0;
  const putAway = async () => {
    // First away from this screen: what it reads would open again what is erased.
    navigate('/', { replace: true });
    await store.eraseSite(site.id);
  };
  return html`<${Page} title=${site.name} over=${say('shut-out.title')} back="/">
    <p class="notice bad">${say('shut-out.about')}</p>
    <p class="strong">${waits ? say('shut-out.only-here', { entries: counted(entries, 'entry'), photos: counted(photos, 'photo') }) : say('shut-out.nothing-waits')}</p>
    ${waits && html`<button type="button" class="button main wide" onClick=${() => store.sendPhotos()}>${say('shut-out.send')}</button>`}
    ${waits && html`<${ToFile} site=${site} onMade=${() => setSaved(true)} />`}
    ${
      waits &&
      html`<section class="card" aria-label=${say('gone.put-away')}>
      <h2>${say('gone.put-away')}</h2>
      <p>${say('shut-out.put-away-about')} ${!saved && say('shut-out.file-first')}</p>
      <button type="button" class="button danger" disabled=${!saved} onClick=${putAway}>${say('shut-out.put-away-do')}</button>
    </section>`
    }
    <p>${say('shut-out.ask')}</p>
  <//>`;
}
