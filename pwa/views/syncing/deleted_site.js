// A site that was deleted on the server and is still on this phone: what is only here goes into a file, then it is put away.

import { useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { nameOfGone } from '../record_screens.js';
import { counted, say } from '../words.js';
import { ToFile } from './unsent.js';

/** @param {{site: Site}} props */
export function DeletedSite({ site }) {
  const read = useLive(async () => {
    const [name, unsent] = await Promise.all([nameOfGone(site), site.unsent()]);
    return { name, unsent };
  }, [site.id]);
  const [saved, setSaved] = useState(false);
  if (!read) return null;
  const { name, unsent } = read;
  if (!site.engine.isGone)
    return html`<${Page} title=${name} back=${`/s/${site.id}`} site=${site.id}><p class="notice">${say('gone.not')}</p><//>`;
  const [entries, photos] = [unsent.operations.length + unsent.refused.length, unsent.photos.length];
  const waits = entries + photos > 0;
  const putAway = async () => {
    // First away from this screen: what it reads would open again what is erased.
    navigate('/', { replace: true });
    await store.eraseSite(site.id);
  };
  return html`<${Page} title=${name} over=${say('gone.title')} back="/">
    <p class="notice bad">${say('gone.about')}</p>
    <p class="strong">${waits ? say('gone.only-here', { entries: counted(entries, 'entry'), photos: counted(photos, 'photo') }) : say('gone.nothing-waits')}</p>
    ${waits && html`<${ToFile} site=${site} help=${say('gone.file-about')} onMade=${() => setSaved(true)} />`}
    <section class="card" aria-label=${say('gone.put-away')}>
      <h2>${say('gone.put-away')}</h2>
      <p>${say('gone.put-away-about')} ${waits && !saved && say('gone.file-first')}</p>
      <button type="button" class="button danger" disabled=${waits && !saved} onClick=${putAway}>${say('gone.put-away-do')}</button>
    </section>
    <a class="button" href=${`/s/${site.id}`}>${say('gone.look-at-it')}</a>
  <//>`;
}
